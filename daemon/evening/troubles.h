#pragma once
// Failures of a day: crossings without a notice, notices that came late or never, and what happened while
// a feed was blind. Pure.
#include <map>
#include <utility>
#include <vector>

#include "evening/review.h"

namespace brimwatch {

/// The notices of each watch, in the order of the journal.
using NoticesByWatch = std::map<std::pair<std::string, Price>, std::vector<const NoticeRecord*>>;

/// Of the days of the review, in their order.
[[nodiscard]] std::vector<DayTrouble> troubles_of(const ReviewInput& input, const NoticesByWatch& watches);

}  // namespace brimwatch
