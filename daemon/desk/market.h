#pragma once
// The trend of the general market from an index's daily bars against its own 50- and 200-day mean (common practice): up
// when the last close stands above both, down when it stands under both, mixed between.
#include <vector>

#include "core/notice.h"
#include "volume/history.h"

namespace brimwatch {

/// From the bars before `day`; unknown with fewer than 200.
[[nodiscard]] Trend trend_before(const std::vector<DailyBar>& index, Date day);

}  // namespace brimwatch
