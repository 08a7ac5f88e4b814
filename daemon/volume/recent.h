#pragma once
// How the day has been running lately against the usual: the quarter-hours so far, recent ones weighing more. Pure.
#include <optional>

#include "volume/projection.h"

namespace brimwatch {

constexpr double kLeastExpected = 1e-6;  ///< share of the day: below it nothing has been expected yet

/// ln(volume / volume expected by the plan's prior and curve), averaged over the quarter-hours with a half-life of an
/// hour. Each enters as the eighth root of its ratio, so that one block trade, or one quarter-hour without any trade,
/// does not speak for the day. Empty when the quarter-hours are not known, or the feed missed nearly all of them.
[[nodiscard]] std::optional<double> recent_surprise(const DayPlan& plan, const DayVolume& day, const Moment& moment,
                                                    double minutes);

}  // namespace brimwatch
