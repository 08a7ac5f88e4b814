#include "desk/curves_used.h"

namespace brimwatch {

std::string curves_used(const LearnedBySymbol& curves, const OwnLifts& lifts, const std::string& file) {
  std::size_t shapes = 0;
  for (const auto& [symbol, learned] : curves) shapes += learned.days > 0;
  const std::string own = lift_in_words(lifts);
  if (shapes == 0) return own;
  return "learned curves of " + std::to_string(shapes) + (shapes == 1 ? " symbol" : " symbols") + " from " + file +
         (own.empty() ? "" : "; " + own);
}

std::string curves_used(const Desk& desk) {
  const Histories& known = desk.histories();
  return curves_used(known.all_learned(), known.own_lifts(), desk.settings().history.learned);
}

}  // namespace brimwatch
