#pragma once
// What would be watched, for `brimwatch check`: a table for people, one JSON object a line for programs, and in words
// what each rule will do. Pure; what only history knows is asked of the caller.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "config/settings.h"

namespace brimwatch {

/// A watch's normal volume and where it comes from.
struct NormalVolume {
  enum class From : std::uint8_t { unknown, list, history };
  From from = From::unknown;
  Shares shares;
  int days = 0;           ///< sessions of history that went in
  Date last;              ///< the last of them
  std::string trouble;    ///< why history gave none, one line; empty: there is no history
  double feed_ratio = 0;  ///< part of the tape that the feed was learned to carry; 0: not learned
};

struct Overview {
  const Settings& settings;
  std::function<NormalVolume(const Watch&)> normal_of;
  Trend trend = Trend::unknown;   ///< of the market: as set, or as the index's bars say
  std::string trend_source;       ///< e.g. "as you set it", "from spx.csv: last close over both means"; empty: not known
  std::vector<std::string> only;  ///< symbols to show; empty: all
  std::optional<Date> today{};    ///< watches that are over or to come are marked by it; none: they are not
};

/// Aligned, with a head and a line on market, feeds and channels at its end.
[[nodiscard]] std::string overview_table(const Overview& overview);

/// One object a line: symbol, pivot, range_top, rearm_level, slip_level, loss_limit, tick_size, needed_surge,
/// normal_volume, normal_volume_from, normal_volume_days, normal_volume_to, feed_ratio, from, until, calendar, tape,
/// note, file, line. Unknown values are null.
[[nodiscard]] std::string overview_json(const Overview& overview);

/// In words: what is told when, for each watch, channel and feed.
[[nodiscard]] std::string explanation(const Overview& overview);

}  // namespace brimwatch
