#pragma once
// Weeks made of daily bars, Monday to Sunday. Pure.
#include <optional>
#include <span>
#include <vector>

#include "core/daily.h"

namespace brimwatch {

constexpr int kMeanWeeks = 10;  ///< ten weeks, about fifty sessions: common practice

/// A week as one bar: `day` is its last session; volume is the week's.
[[nodiscard]] std::vector<DailyBar> weekly_bars(std::span<const DailyBar> bars);

/// Mean of the last `weeks` weekly closes up to and with week `last`, the unfinished one included; empty where there are
/// fewer.
[[nodiscard]] std::optional<double> mean_of_weeks(std::span<const DailyBar> weekly, int last, int weeks = kMeanWeeks);

/// The same from daily bars, at the last of them.
[[nodiscard]] std::optional<double> ten_week_mean(std::span<const DailyBar> bars);

}  // namespace brimwatch
