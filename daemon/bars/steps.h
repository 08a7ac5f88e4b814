#pragma once
// A step from one bar to the next that nobody's trading makes: a split that was not taken out, or another unit. Pure.
#include <span>

#include "core/daily.h"

namespace brimwatch {

struct BarStep {
  double ratio = 0;       ///< close before / open; 0: no such step
  const char* name = "";  ///< "2:1", "1:10"; empty: another unit (hundreds, thousands)
};

/// The step from bar i - 1 into bar i, i >= 1. A real move of such a size trades many times the usual volume; a split
/// only its ratio.
[[nodiscard]] BarStep step_at(std::span<const DailyBar> bars, int i);

/// How near a price must come to a split's ratio, in logs.
constexpr double kSplitNearInLogs = 0.04;

}  // namespace brimwatch
