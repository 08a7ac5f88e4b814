#pragma once
// Two reviews of the same days side by side, e.g. of two sets of rules, and whether their difference is more than chance.
// Pure and deterministic: the bootstrap has a fixed seed.
#include <string>
#include <vector>

#include "evening/review.h"

namespace brimwatch {

struct Measure {
  std::string name;  ///< "heavy crossings whose volume came, %"
  bool more_is_better = true;
  double a = 0, b = 0;  ///< value over all days
  int count_a = 0, count_b = 0;
  double difference = 0;     ///< b - a
  double low = 0, high = 0;  ///< 95 % interval of the difference: days drawn with replacement, the same days for both
  bool within_noise = true;  ///< the interval holds 0, or there is too little to tell
};

struct Comparison {
  int days = 0;  ///< days with a crossing in either
  std::vector<Measure> measures;
  std::string verdict;  ///< one sentence
};

/// Fewer days than this tell nothing.
constexpr int kLeastDaysToCompare = 10;

[[nodiscard]] Comparison compare(const Review& a, const Review& b, int draws = 2000);
[[nodiscard]] std::string in_words(const Comparison& comparison, std::string_view name_a, std::string_view name_b);
[[nodiscard]] std::string to_json(const Comparison& comparison);

}  // namespace brimwatch
