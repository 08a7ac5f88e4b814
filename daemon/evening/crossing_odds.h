#pragma once
// Were the odds right where they were needed, at the crossings, and what does that teach for the next? Pure, but for
// lift_before(), which reads the journal.
#include <vector>

#include "core/result.h"
#include "evening/gather.h"
#include "evening/review.h"
#include "volume/learning/own_lift.h"

namespace brimwatch {

[[nodiscard]] OddsAtCrossings odds_at_crossings(const std::vector<Crossing>& crossings);

/// "1 to 5 minutes after the open", "gap of 1 to 2 deviations", "gap not known".
[[nodiscard]] std::string minute_text(const OddsBand& band);
[[nodiscard]] std::string gap_text(const OddsBand& band);
/// "40 crossings judged with what your own had taught of the volume to come: +2.1 % of a day"; empty: none.
[[nodiscard]] std::string own_text(const OddsAtCrossings& odds);

/// What can be learned from: the first judged crossing of each stock and day, where the day's volume is official or the
/// feed carried nearly all of it.
[[nodiscard]] std::vector<PastCrossing> past_crossings(const ReviewInput& input, const Review& review);

/// What the crossings of the year before `since` teach, in force from then on.
[[nodiscard]] Result<OwnLift> lift_before(Date since, Journal& journal, ReviewSources sources);

}  // namespace brimwatch
