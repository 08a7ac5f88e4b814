#pragma once
// The middle of some values. Pure.
#include <algorithm>
#include <vector>

namespace brimwatch {

/// Of an even count, the mean of the two in the middle. There must be one value at least.
[[nodiscard]] inline double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return values.size() % 2 != 0 ? *middle : (*middle + *std::max_element(values.begin(), middle)) / 2;
}

}  // namespace brimwatch
