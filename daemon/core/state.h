#pragma once
// What has to survive a restart: the engine's state in a form that the journal keeps. Names, not ids, so that it means
// the same in the next process.
#include <array>
#include <cstdint>
#include <string>

#include "core/notice.h"

namespace brimwatch {

/// State of one watch. Key: symbol and pivot.
struct WatchState {
  std::string symbol;
  Price pivot;
  Date day;  ///< trade date the counts belong to
  Side side = Side::unknown;
  bool armed = true;  ///< a crossing counts
  bool loss_told = false;
  bool weight_told = false;  ///< volume-arrived or volume-faded has been said for the present crossing
  Weight weight_at_crossing = Weight::unknown;
  std::uint64_t crossing_trade = 0;  ///< id of the trade behind the last crossing
  Price crossing_price;
  Timestamp crossing_time;
  std::array<std::uint16_t, kNoticeKinds> counts{};  ///< notices of each kind told on `day`

  bool operator==(const WatchState&) const = default;
};

/// State of one symbol's day. Key: symbol.
struct SymbolState {
  std::string symbol;
  Date day;
  Timestamp last_time;  ///< exchange time of the last tick taken
  Price last, day_open, day_high, day_low, previous_close;
  Shares so_far;                                 ///< eligible volume of the day
  std::array<std::int64_t, 16> minute_volume{};  ///< ring of the last minutes, micros of a share, by minute % 16
  std::int32_t minute = -1;                      ///< the last minute of the session that `minute_volume` knows
  double missed_minutes = 0;                     ///< minutes of the session that the feed did not carry
  double halted_minutes = 0;
  Timestamp halted_since;
  std::uint64_t trades = 0;

  bool operator==(const SymbolState&) const = default;
};

/// What a day came to for one symbol, written at its end.
struct DayRecord {
  Date day;
  std::string symbol;
  Shares volume;        ///< as the feed carried it
  double coverage = 1;  ///< share of the session's expected volume that the feed was up for
  Price open, high, low, close;
  bool half_day = false;
  std::array<double, 24> knots{};  ///< ln of the cumulative share at the model's knots, NaN where not known
};

/// A time in which a feed was blind.
struct Hole {
  std::string feed;    ///< name of the feed
  std::string symbol;  ///< empty: all symbols
  Timestamp from, to;
  std::string why;
};

}  // namespace brimwatch
