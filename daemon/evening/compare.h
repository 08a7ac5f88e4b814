#pragma once
// Two reviews of the same days side by side, e.g. of two sets of rules, and whether their difference is more than chance
// (block_test.h). Pure and deterministic.
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
  bool less_index = false;  ///< each outcome less the index over the same sessions
  int horizon = 1;          ///< sessions that an outcome takes to come
  double a = 0, b = 0;      ///< mean over all crossings, percent where it is a share
  int count_a = 0, count_b = 0;
  Share share_a, share_b;  ///< of yes-or-no outcomes, else of none
  bool is_share = false;
  double difference = 0;           ///< b - a; 0 where either side has nothing
  int blocks = 0;                  ///< of sessions, with a crossing in them
  std::optional<double> error, p;  ///< of the difference, and of the block test; empty: too few blocks
  double low = 0, high = 0;        ///< 95 % interval of the difference, where there is a p
  double p_together = 1;           ///< p after Holm's correction for all measures looked at
  bool within_noise = true;        ///< p_together is 0.05 or more, or there is no p
};

struct Comparison {
  int sessions = 0;  ///< of the span
  int days = 0;      ///< with a crossing in either
  bool has_index = false;
  std::vector<Tally> tallies;
  std::vector<Measure> measures;
  std::string verdict;  ///< one or two sentences
};

constexpr double kBeyondNoise = 0.05;
/// A day's outcome is known at its end, but busy and strong days come in stretches: it counts as if it took a week.
constexpr int kDayHorizon = 5;

[[nodiscard]] Comparison compare(const Review& a, const Review& b);
[[nodiscard]] std::string in_words(const Comparison& comparison, std::string_view name_a, std::string_view name_b);
/// One line, one object; keys follow the fields above.
[[nodiscard]] std::string to_json(const Comparison& comparison);
/// A page of its own, like that of a review.
[[nodiscard]] std::string to_html(const Comparison& comparison, std::string_view name_a, std::string_view name_b);

}  // namespace brimwatch
