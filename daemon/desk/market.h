#pragma once
// The trend of the general market from an index's daily bars against its own 50- and 200-day mean (common practice): up
// when the last close stands above both, down when it stands under both, mixed between.
#include <vector>

#include "core/daily.h"
#include "core/notice.h"

namespace brimwatch {

/// Bars that end longer ago say nothing of the market of today: two weeks, in calendar days.
constexpr int kOldestIndexDays = 14;

/// From the bars before `day`; unknown with fewer than 200, and where the last of them is too old.
[[nodiscard]] Trend trend_before(const std::vector<DailyBar>& index, Date day);

}  // namespace brimwatch
