#include "pictures/scale.h"

#include <algorithm>
#include <cmath>

namespace brimwatch {

std::vector<double> round_steps(double from, double to, int most) {
  std::vector<double> steps;
  if (!(to > from) || most < 1) return steps;
  double step = std::pow(10, std::floor(std::log10((to - from) / most)));
  for (const double factor : {1.0, 2.0, 5.0, 10.0}) {
    if ((to - from) / (step * factor) > most) continue;
    step *= factor;
    break;
  }
  for (double k = std::ceil(from / step); k * step <= to && static_cast<int>(steps.size()) <= most; ++k)
    steps.push_back(k * step);
  return steps;
}

void spread(std::vector<Label*> labels, double gap, double from, double to) {
  std::stable_sort(labels.begin(), labels.end(), [](const Label* a, const Label* b) { return a->wanted < b->wanted; });
  double least = from;
  for (Label* label : labels) {
    label->at = std::max(label->wanted, least);
    least = label->at + gap;
  }
  double most = to;
  for (auto at = labels.rbegin(); at != labels.rend(); ++at) {
    (*at)->at = std::min((*at)->at, most);
    most = (*at)->at - gap;
  }
}

}  // namespace brimwatch
