#include "core/split.h"

#include <cmath>
#include <cstdio>

namespace brimwatch {

Price in_terms(Price price, double factor, Price tick) {
  const std::int64_t step = tick.micros > 0 ? tick.micros : 1;
  const auto exact = static_cast<double>(price.micros) * factor / static_cast<double>(step);
  return Price{std::llround(exact) * step};
}

SplitWatch after_split(Price pivot, const Rules& rules, double ratio) {
  const Price tick = tick_at(rules, in_terms(pivot, 1 / ratio, {}));
  const Price after = in_terms(pivot, 1 / ratio, tick);
  const Levels levels = levels_of(after, rules);
  return {pivot, after, levels.range_top, levels.loss};
}

std::string in_words(const SplitWatch& watch) {
  return "pivot " + to_string(watch.pivot_before) + " would be " + to_string(watch.pivot) + ", range to " +
         to_string(watch.range_top) + ", loss limit " + to_string(watch.loss_limit);
}

std::string split_text(double ratio) {
  constexpr int kMostOld = 30;
  for (int under = 1; under <= kMostOld; ++under) {
    const double over = ratio * under;
    if (over >= 0.5 && std::abs(over / std::round(over) - 1) < 0.005)
      return std::to_string(std::llround(over)) + ":" + std::to_string(under);
  }
  if (const double old = 1 / ratio; old > kMostOld && std::abs(old / std::round(old) - 1) < 0.005)
    return "1:" + std::to_string(std::llround(old));
  char text[32];
  std::snprintf(text, sizeof text, "%.4g:1", ratio);
  return text;
}

std::string split_command(std::string_view symbol, double ratio) {
  return "brimwatch history split " + std::string(symbol) + " " + split_text(ratio) + " --take";
}

}  // namespace brimwatch
