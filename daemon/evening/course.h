#pragma once
// A stock's sessions as far as anything knows of them: its daily bars, and the feed's own records of days that have none.
// Pure.
#include <vector>

#include "evening/review.h"

namespace brimwatch {

/// Ascending by day, each day once; bars without prices are left out.
[[nodiscard]] std::vector<DailyBar> course_of(const ReviewInput& input, const std::string& symbol);
/// The same from these bars of it.
[[nodiscard]] std::vector<DailyBar> course_of(const ReviewInput& input, const std::string& symbol,
                                              const std::vector<DailyBar>& bars);

}  // namespace brimwatch
