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
[[nodiscard]] std::vector<std::string> doubts_of(std::span<const DayBar> bars, const Grounds& grounds,
                                                 const std::vector<PriceEvent>& events, std::span<const Date> sessions);

}  // namespace brimwatch
