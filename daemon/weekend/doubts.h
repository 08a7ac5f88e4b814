#pragma once
// What makes a base in daily bars doubtful, so that nothing said of it may count as kept: zero volume, halts, missing
// sessions, spikes, splits that were not taken out, prices under one unit of currency, another unit half-way. Pure;
// bars/faults.h finds what is wrong with bars whatever they are for.
#include <span>
#include <string>
#include <vector>

#include "core/bar_checks.h"
#include "core/daily.h"
#include "weekend/events.h"

namespace brimwatch {

/// Which bars a judgement rests on.
struct Grounds {
  int shape = 0;  ///< first bar of the base: volume and sessions must be whole from here, or for the last fifty
  int rise = 0;   ///< first bar of the rise before it: prices must be in one unit from here
};

/// Phrases for a person, each with a day; empty for sound bars. `events` are those that were told, `sessions` the days on
/// which the exchange traded, ascending (empty: not known; then only holes of a week are found). `checks`: what is to be
/// used as if it were sound is no doubt.
[[nodiscard]] std::vector<std::string> doubts_of(std::span<const DailyBar> bars, const Grounds& grounds,
                                                 const std::vector<PriceEvent>& events, std::span<const Date> sessions,
                                                 const BarChecks& checks = {});

/// Only the first of these: a step from one bar to the next, from bar `from` on, that looks like an unreported split
/// or like another unit; empty for none.
[[nodiscard]] std::string unit_doubt(std::span<const DailyBar> bars, int from, const std::vector<PriceEvent>& events);

}  // namespace brimwatch
