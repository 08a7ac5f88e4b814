#pragma once
// A day that the feed carried whole, as a daily bar of our own. Pure.
#include <optional>

#include "core/daily.h"
#include "core/state.h"
#include "volume/history.h"

namespace brimwatch {

constexpr double kWholeCoverage = 0.999;  ///< of the day's usual volume: no hole to speak of

/// Empty where the day has a hole, a price that is not known, or comes from a feed of which nobody knows what part of the
/// tape it carries. `learned` may be nullptr; with a known part the volume is that of the whole tape.
[[nodiscard]] std::optional<DailyBar> heard_day(const DayRecord& record, const Learned* learned);

}  // namespace brimwatch
