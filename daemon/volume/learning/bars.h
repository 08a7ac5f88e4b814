#pragma once
// Minute, 15-minute, hour bars of one symbol as sessions: what learning and grading walk over. Pure.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/text/timestamp.h"
#include "session/calendar.h"

namespace brimwatch {

/// One row of a bar file, its time in the exchange's zone.
struct BarRow {
  std::int32_t day =
      0;  ///< days since 1970-01-01, or kLabelDay + n for the n-th label of a file whose days have no dates
  std::int32_t minute = 0;    ///< of the local day, start of the bar
  double volume = 0;          ///< shares; NaN: the row is there and the volume is not
  float open = 0, close = 0;  ///< 0 where the file has none
  float high = 0;             ///< the same
};
constexpr std::int32_t kLabelDay = 10'000'000;

/// The days at a file's start that tell what its bars are: how long, cut where, stamped by which end. None of them is
/// graded, so that no graded day is read in the light of what came after it.
constexpr std::size_t kTellingDays = 50;

/// One bar: volume from `minute` (since the open) on, and the highest price in it, 0: not known.
struct BarVolume {
  std::int32_t minute = 0;
  float volume = 0;
  float high = 0;
};

/// One session's bars.
struct SessionBars {
  std::int32_t day = 0;  ///< as in BarRow
  double session_minutes = 390;
  bool half_day = false, expiry = false, month_end = false;
  float open = 0, close = 0;    ///< first and last regular price, 0: unknown
  float high = 0;               ///< of the regular session, 0: unknown
  double total = 0;             ///< shares of the regular session
  double coverage = 1;          ///< usual share of the day's volume that falls into the bars that are there
  std::vector<BarVolume> bars;  ///< ascending

  [[nodiscard]] bool dated() const { return day < kLabelDay; }
};

/// What was left out or odd, so that nothing goes silently.
struct BarCounts {
  std::uint64_t rows = 0, outside_session = 0, closed_days = 0, without_volume = 0, repeated = 0;
  std::uint64_t beside_break = 0;  ///< bars that reach into a lunch break, counted with the side that they belong to
  std::uint64_t in_break = 0;      ///< bars with volume within it, when nothing is traded; among outside_session
  double in_break_shares = 0;
  std::uint64_t half_days = 0, short_days = 0;  ///< short: parts of the session are missing
  bool closing_bar = false;        ///< bars that start at the close carry the closing auction, and were counted from the
                                   ///< day on when the days before it showed that
  bool looks_end_stamped = false;  ///< first and last bars stand as if stamped by their ends, but not on all days
  bool took_end_stamped = false;   ///< they do on all days, and were read so
  bool opens_late = false;  ///< the reason was the open's volume, which came one bar late (bars before the open too)
};

struct BarSeries {
  std::string symbol;
  int bar_minutes = 0;
  int first_end = 0;  ///< minutes from the open to the end of the first bar; ends are first_end + n bar_minutes
  std::vector<SessionBars> days;
  BarCounts counts;

  /// Whether the volume at this minute of a full session is known exactly.
  [[nodiscard]] bool knows(double minute) const;
  /// End of the bar that starts at this minute of the session.
  [[nodiscard]] int end_of(int minute) const { return minute == 0 ? first_end : minute + bar_minutes; }
};

/// Of bars that were left out because they lie within a lunch break; empty when there are none.
[[nodiscard]] std::string break_remark(const BarCounts& counts);

struct BarReading {
  int bar_minutes = 0;       ///< 0: the commonest gap between rows
  bool stamped_end = false;  ///< rows carry the end of their bar
  bool guess_stamp = true;   ///< take them so, too, where of the first kTellingDays no day has a bar at its open and all
                             ///< have one at the close, or bars before the open show that its volume comes one bar late
};

/// Sorts rows into sessions. Days that the calendar knows to be closed, rows outside the regular session (stray ones
/// after a half day's close too) are left out and counted; days beyond the calendar, or without a date, are taken to be
/// 09:30-16:00, or a half day where the bars end by three quarters of it. A bar that starts as a lunch break does belongs
/// to the morning, whose auction it holds; one that reaches over the break's end to the afternoon.
[[nodiscard]] BarSeries assemble_bars(std::string symbol, std::vector<BarRow> rows, const BarReading& reading,
                                      const Calendar& calendar);

}  // namespace brimwatch
