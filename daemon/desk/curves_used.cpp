#include "desk/curves_used.h"

namespace brimwatch {

std::string curves_used(const LearnedBySymbol& curves, const std::string& file) {
  std::size_t shapes = 0;
  for (const auto& [symbol, learned] : curves) shapes += learned.days > 0;
  if (shapes == 0) return {};
  return "learned curves of " + std::to_string(shapes) + (shapes == 1 ? " symbol" : " symbols") + " from " + file;
}

std::string curves_used(const Desk& desk) {
  return curves_used(desk.histories().all_learned(), desk.settings().history.learned);
}

}  // namespace brimwatch
