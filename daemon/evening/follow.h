#pragma once
// What following a crossing's own rules would have meant. Pure; no order is ever placed by this program.
//
// Bought at the price of the first notice of the crossing's day that says: heavy, inside the range, market not down, data
// not delayed. Sold at the loss limit: at the price of a loss-limit notice, or on a later day at the limit, or at the
// opening when it opens under it. Else sold at the close of the 20th session after. Else open, and valued at the last
// close. A price that a person gets is seldom the notice's; that is what the costs stand for.
#include <vector>

#include "evening/review.h"

namespace brimwatch {

/// `sequel`: notices of the crossing's watch from the crossing on, over all days, the crossing first. `course`: the
/// stock's sessions as far as they are known (course.h).
[[nodiscard]] Followed follow(const std::vector<const NoticeRecord*>& sequel, const std::vector<DailyBar>& course,
                              double cost_percent);

}  // namespace brimwatch
