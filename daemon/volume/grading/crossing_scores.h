#pragma once
// How good the odds were at crossings: by minutes since the open, gap, age of the high and normal volume. Pure.
#include <limits>
#include <string>
#include <vector>

#include "volume/grading/crossing_grades.h"
#include "volume/grading/reliability.h"

namespace brimwatch {

/// Odds of the day's volume against what came, over some crossings.
struct OddsScore {
  int count = 0;
  double said = 0, came = 0;  ///< mean of the odds; share that came
  double brier_skill = 0;     ///< 1 - Brier / (came (1 - came)); 0 where all or none came
  double log_loss = 0;        ///< mean of -ln of the odds given to what came; odds of 0 and 1 count as a millionth off
  double auc = 0;
  double precision_50 = 0, recall_50 = 0, precision_70 = 0, recall_70 = 0;
};

/// Crossings whose property lies in from < x <= to.
struct CrossingBand {
  double from = 0, to = std::numeric_limits<double>::infinity();
  OddsScore score;
};

/// A rule that says yes or no: volume by now times something reaches 1.4 times normal.
struct SimpleRule {
  double auc = 0, precision = 0, recall = 0;
};

struct CrossingScores {
  OddsScore all;
  std::vector<CrossingBand> by_minute;  ///< minutes since the open; bands without a crossing are left out, here and below
  std::vector<CrossingBand> by_gap;     ///< daily deviations; a band up to 0 has those whose gap is not known
  std::vector<CrossingBand> by_age;     ///< sessions since the high was last reached
  std::vector<CrossingBand> by_normal;  ///< shares of a normal day
  SimpleRule linear, profile;
  Reliability reliability;
};

[[nodiscard]] CrossingScores score_crossings(const std::vector<GradedCrossing>& crossings);

}  // namespace brimwatch
