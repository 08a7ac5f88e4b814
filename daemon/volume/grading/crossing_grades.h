#pragma once
// Grading where a notice is made: at the minute in which a price reaches an old high. Pure.
#include <functional>

#include "volume/grading/walk.h"
#include "volume/old_high.h"

namespace brimwatch {

/// One day's first price at or above the highest high of the sessions before it.
struct GradedCrossing {
  GradedForecast graded;  ///< at the end of the bar in which it happened
  Date day;
  double odds = 0;    ///< of a day of at least `graded.wanted`
  double gap = -1;    ///< daily deviations; < 0: not known
  double normal = 0;  ///< shares of a normal day
  HighAge age;        ///< of the high
};
using CrossingSink = std::function<void(const WalkedDay&, const GradedCrossing&)>;

/// Walks all days; `sink` gets the crossings of highs of `sessions` sessions (at least as many must be known). A day
/// whose bars have no prices has none.
void walk_crossings(const BarSeries& series, const WalkOptions& options, int sessions, const CrossingSink& sink);

}  // namespace brimwatch
