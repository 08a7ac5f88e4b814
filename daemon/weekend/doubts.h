#pragma once
// What makes daily bars doubtful, so that nothing said of a base in them may count as kept: zero volume, halts, missing
// sessions, splits that were not taken out, prices under one unit of currency, another unit half-way. Pure.
#include <span>
#include <string>
#include <vector>

#include "core/daily.h"
#include "weekend/events.h"

namespace brimwatch {

/// Which bars a judgement rests on.
struct Grounds {
  int shape = 0;  ///< first bar of the base: volume and sessions must be whole from here, or for the last fifty
  int rise = 0;   ///< first bar of the rise before it: prices must be in one unit from here
};

/// Phrases for a person, each with a day; empty for sound bars. `events` are those that were told, `sessions` the days on
/// which the exchange traded, ascending (empty: not known; then only holes of a week are found).
[[nodiscard]] std::vector<std::string> doubts_of(std::span<const DailyBar> bars, const Grounds& grounds,
                                                 const std::vector<PriceEvent>& events, std::span<const Date> sessions);

/// Only the first of these: a step from one bar to the next, from bar `from` on, that looks like a split that nobody told
/// or like another unit; empty for none.
[[nodiscard]] std::string unit_doubt(std::span<const DailyBar> bars, int from, const std::vector<PriceEvent>& events);

}  // namespace brimwatch
