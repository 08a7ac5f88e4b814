#pragma once
// Is a difference between two sets of rules more than chance? Pure and deterministic: random draws have a fixed seed.
//
// The unit is the day: the crossings of one day move together, and both sets of rules saw the same day. Under the
// hypothesis that the rules do not matter, each day's two outcomes might as well have changed places. So the observed
// difference is set against those that arise when they are made to change places, day by day: Fisher's randomization test
// for paired observations (R. A. Fisher, The Design of Experiments, 1935, section 21). For single yes-or-no outcomes it
// is McNemar's exact test.
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace brimwatch {

/// A sum of values and how many there were.
struct Part {
  double sum = 0;
  int count = 0;
};

/// One day's part of a measure under both sets of rules.
struct DayPair {
  Part a, b;
};

/// Mean of all b - mean of all a; empty when either side has none.
[[nodiscard]] std::optional<double> difference_of(std::span<const DayPair> days);

/// Two-sided p of the difference. All 2^n swaps for up to kExactDays days that differ; beyond, `draws` random ones, the
/// observed one counted among them so that p is never too small (Phipson and Smyth 2010). Empty without a difference.
constexpr std::size_t kExactDays = 16;
[[nodiscard]] std::optional<double> swap_test(std::span<const DayPair> days, int draws);

struct Between {
  double low = 0, high = 0;
};
/// 95 % interval of the difference: whole days drawn with replacement (percentile bootstrap, Efron 1979). Empty when too
/// few draws have a value on both sides.
[[nodiscard]] std::optional<Between> bootstrap(std::span<const DayPair> days, int draws);

/// Holm's correction (1979): with several measures looked at together, some p is small by chance. In the given order.
[[nodiscard]] std::vector<double> holm(std::span<const double> p);

}  // namespace brimwatch
