#pragma once
// Two reviews of the same days side by side, e.g. of two sets of rules, and whether their difference is more than chance
// (paired.h). Pure and deterministic.
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "evening/review.h"

namespace brimwatch {

/// Counted, not judged: two sets of rules tell as many crossings as they tell.
struct Tally {
  std::string name;  ///< "crossings told"
  int a = 0, b = 0;
};

struct Measure {
  std::string name;  ///< "heavy crossings whose volume came, %"
  bool more_is_better = true;
  bool is_share = false;  ///< of yes-or-no outcomes: then hits and Wilson intervals are there
  double a = 0, b = 0;    ///< value over all days, percent where it is a share
  int count_a = 0, count_b = 0;
  int hits_a = 0, hits_b = 0;
  Interval between_a, between_b;  ///< 95 % Wilson, of shares
  double difference = 0;          ///< b - a
  double low = 0, high = 0;       ///< 95 % interval of the difference
  std::optional<double> p;        ///< of the paired test; empty where either has nothing to show
  double p_together = 1;          ///< p after Holm's correction for all measures looked at
  bool within_noise = true;       ///< p_together is 0.05 or more, or there are too few days
};

struct Comparison {
  int days = 0;  ///< days with a crossing in either
  std::vector<Tally> tallies;
  std::vector<Measure> measures;
  std::string verdict;  ///< one or two sentences
};

/// Fewer days than this tell nothing.
constexpr int kLeastDaysToCompare = 10;
constexpr double kBeyondNoise = 0.05;

[[nodiscard]] Comparison compare(const Review& a, const Review& b, int draws = 5000);
[[nodiscard]] std::string in_words(const Comparison& comparison, std::string_view name_a, std::string_view name_b);
/// One line, one object; keys follow the fields above.
[[nodiscard]] std::string to_json(const Comparison& comparison);
/// A page of its own, like that of a review.
[[nodiscard]] std::string to_html(const Comparison& comparison, std::string_view name_a, std::string_view name_b);

}  // namespace brimwatch
