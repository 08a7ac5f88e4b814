#pragma once
// What a review may believe of a stock's bars: a bar that is doubtful judges nothing, and neither does what follows one
// that nothing else can stand in for. Pure.
#include <string>
#include <vector>

#include "evening/review.h"

namespace brimwatch {

struct TrustedDays {
  std::vector<DailyBar> bars;    ///< up to the first doubtful day after the crossing, without doubtful ones
  std::vector<DailyBar> course;  ///< see course_of(): the feed's own record of a doubtful day stands in for its bar
  std::string doubt;             ///< what was not believed, for a person; empty: nothing
};

/// Of the crossing's day and the sessions after it that its outcome rests on.
[[nodiscard]] TrustedDays trusted_days(const ReviewInput& input, const NoticeRecord& crossing);

}  // namespace brimwatch
