#pragma once
// What became of a pivot that was known at a weekend: whether it was crossed, and what followed. One set of rules for the
// grading of odds and for the evening's base rates. Pure.
//
// The crossing is the first of the next ten sessions whose high reaches the pivot. Bought at max(open, pivot); an open
// more than 5 % over the pivot is not bought. From the entry, over the crossing's session (by its close alone) and the
// sixty after it (by high and low): +20 % first or -8 % first; both within one session count as -8 %.
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "core/daily.h"

namespace brimwatch {

constexpr int kCrossWithin = 10;  ///< sessions after the weekend
constexpr int kCrossWeek = 5;     ///< sessions that "within a week" means
constexpr int kFollowedFor = 60;  ///< sessions after the crossing's own
constexpr int kBarsNeeded = 253;  ///< up to the weekend
constexpr int kBarsAfter = 71;    ///< after it, or what followed is not known yet

enum class CameFirst : std::uint8_t { neither, up20, down8 };

struct FollowedPivot {
  int at = -1;            ///< bar of the crossing; -1: none within ten sessions
  bool within_5 = false;  ///< crossed in the first five sessions
  bool bought = false;    ///< crossed, and not opened over the range
  Price entry;
  CameFirst first = CameFirst::neither;
  int sessions = 0;    ///< from the crossing to what came first; kFollowedFor for neither
  bool held = false;   ///< the crossing's session closed at the pivot or above
  bool surge = false;  ///< its volume was at least 1.4 times the mean of the fifty sessions before
};

/// `last` is the last bar that was known.
[[nodiscard]] FollowedPivot follow_pivot(std::span<const DailyBar> bars, int last, Price pivot);

/// A watch of one weekend and what came of it.
struct WeekendWatch {
  Date weekend;              ///< the day as asked; the last bar may be earlier
  Date crossed, known;       ///< days of the crossing and of its result; unset when it was not crossed
  double ordinary_move = 0;  ///< %
  double moves_to_pivot = 0;
  FollowedPivot followed;
};

/// The watch that `pivot` made after bar `last`; empty where no ordinary move is known.
[[nodiscard]] std::optional<WeekendWatch> watch_of(std::span<const DailyBar> bars, int last, Price pivot, Date weekend);

/// Index of the last bar by `weekend` if there are enough bars up to it and after it, else -1.
[[nodiscard]] int known_at(std::span<const DailyBar> bars, Date weekend);

/// The plain 50-day highs of one stock at each of `weekends`.
[[nodiscard]] std::vector<WeekendWatch> plain_watches(std::span<const DailyBar> bars, std::span<const Date> weekends);

/// Every `step` days from `from` to `to`, both included.
[[nodiscard]] std::vector<Date> days_between(Date from, Date to, int step);

}  // namespace brimwatch
