#pragma once
// How much more volume comes after a crossing than crossing_lift() says: one number, learned each month from what was
// said at the user's own crossings and what came, and drawn towards the shipped one, which is 0. Months are kept, so that
// a day that is replayed is judged by what was known then. Pure but for the two functions of the file.
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// What was said at a crossing, and what came. Volumes in shares, all of the same feed.
struct PastCrossing {
  Date day;
  double minutes = 0;  ///< of trading since the open
  double so_far = 0, projected = 0, low = 0, high = 0, came = 0;
  double lift = 0;      ///< that was used, share of a day, own_lift included
  double own_lift = 0;  ///< that was in force
};

/// What a month taught.
struct OwnLift {
  Date since;                   ///< in force from this day on, until the next month's is
  double lift = 0;              ///< share of a day; 0 where there were too few
  int crossings = 0, days = 0;  ///< it was learned from
  Date from, to;                ///< the first and last of these days

  bool operator==(const OwnLift&) const = default;
};
using OwnLifts = std::vector<OwnLift>;  ///< ascending by `since`

constexpr int kFewestCrossings = 30, kFewestCrossingDays = 10;

/// From one crossing of each stock and day. `since` is left to the caller.
[[nodiscard]] OwnLift learn_lift(std::span<const PastCrossing> crossings);

/// nullptr: none is in force on that day.
[[nodiscard]] const OwnLift* own_lift_on(const OwnLifts& lifts, Date day);
/// Whether a month has begun since the newest was learned.
[[nodiscard]] bool is_lift_due(const OwnLifts& lifts, Date since);

/// "since 2026-11-01 your own crossings move the volume to come after one: +2.1 % of a day, from 64 till 2026-10-30"; of
/// the newest month. Empty where the shipped model stands alone.
[[nodiscard]] std::string lift_in_words(const OwnLifts& lifts);

/// The file beside that of learned curves: "curves.toml" has "curves-crossings.csv".
[[nodiscard]] std::string own_lift_file(const std::string& learned_file);
/// A missing file is an empty list. Errors name file, line, what was found and what is allowed.
[[nodiscard]] Result<OwnLifts> read_own_lifts(const std::string& path);
[[nodiscard]] Result<OwnLifts> parse_own_lifts(std::string_view text, const std::string& name);
[[nodiscard]] std::string own_lift_text(const OwnLifts& lifts);
/// Whole or not at all, as write_learned().
[[nodiscard]] Status write_own_lifts(const std::string& path, const OwnLifts& lifts);

}  // namespace brimwatch
