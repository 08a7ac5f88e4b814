#include "evening/paired.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numeric>

namespace brimwatch {
namespace {

constexpr std::size_t kFewestDraws = 100;

/// A small generator of our own (splitmix64), so that the same reviews give the same answer on every machine.
class Draws {
 public:
  std::uint64_t next() {
    state_ += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
  }
  std::size_t below(std::size_t count) { return static_cast<std::size_t>(next() % count); }

 private:
  std::uint64_t state_ = 42;
};

void add(Part& to, const Part& part) {
  to.sum += part.sum;
  to.count += part.count;
}

std::optional<double> difference(const Part& a, const Part& b) {
  if (a.count == 0 || b.count == 0) return std::nullopt;
  return b.sum / b.count - a.sum / a.count;
}

/// Counts the swaps whose difference is as large as the observed one.
class SwapCount {
 public:
  explicit SwapCount(double observed) : least_(std::abs(observed) - 1e-9 * std::max(1.0, std::abs(observed))) {}

  template <typename IsSwapped>
  void look(std::span<const DayPair> days, IsSwapped is_swapped) {
    Part a, b;
    for (std::size_t i = 0; i < days.size(); ++i) {
      const bool swapped = is_swapped(i);
      add(a, swapped ? days[i].b : days[i].a);
      add(b, swapped ? days[i].a : days[i].b);
    }
    const auto value = difference(a, b);
    if (!value) return;  // everything on one side: such a swap says nothing of a difference
    ++all_;
    large_ += std::abs(*value) >= least_;
  }
  [[nodiscard]] double share() const { return static_cast<double>(large_) / static_cast<double>(all_); }
  void count_observed() { ++all_, ++large_; }

 private:
  double least_;
  std::uint64_t all_ = 0, large_ = 0;
};

bool differs(const DayPair& day) { return day.a.sum != day.b.sum || day.a.count != day.b.count; }

}  // namespace

std::optional<double> difference_of(std::span<const DayPair> days) {
  Part a, b;
  for (const DayPair& day : days) add(a, day.a), add(b, day.b);
  return difference(a, b);
}

std::optional<double> swap_test(std::span<const DayPair> days, int draws) {
  const auto observed = difference_of(days);
  if (!observed) return std::nullopt;
  // Days that are the same under both are kept for the means; swapping them changes nothing.
  std::vector<DayPair> sorted(days.begin(), days.end());
  const auto middle = std::stable_partition(sorted.begin(), sorted.end(), differs);
  const auto different = static_cast<std::size_t>(middle - sorted.begin());
  SwapCount count(*observed);
  if (different <= kExactDays) {
    for (std::uint64_t swaps = 0; swaps < (1ULL << different); ++swaps)
      count.look(sorted, [&](std::size_t i) { return i < different && (swaps >> i & 1) != 0; });
    return count.share();
  }
  Draws random;
  count.count_observed();
  for (int i = 0; i < draws; ++i)
    count.look(sorted, [&](std::size_t day) { return day < different && (random.next() & 1) != 0; });
  return count.share();
}

std::optional<Between> bootstrap(std::span<const DayPair> days, int draws) {
  Draws random;
  std::vector<double> differences;
  for (int i = 0; i < draws && !days.empty(); ++i) {
    Part a, b;
    for (std::size_t k = 0; k < days.size(); ++k) {
      const DayPair& day = days[random.below(days.size())];
      add(a, day.a), add(b, day.b);
    }
    if (const auto one = difference(a, b)) differences.push_back(*one);
  }
  if (differences.size() < kFewestDraws) return std::nullopt;
  std::sort(differences.begin(), differences.end());
  const auto at = [&](double part) {
    return differences[static_cast<std::size_t>(part * static_cast<double>(differences.size() - 1))];
  };
  return Between{at(0.025), at(0.975)};
}

std::vector<double> holm(std::span<const double> p) {
  std::vector<std::size_t> order(p.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t x, std::size_t y) { return p[x] < p[y]; });
  std::vector<double> out(p.size());
  double highest = 0;
  for (std::size_t rank = 0; rank < order.size(); ++rank) {
    const double corrected = std::min(1.0, p[order[rank]] * static_cast<double>(order.size() - rank));
    out[order[rank]] = highest = std::max(highest, corrected);
  }
  return out;
}

}  // namespace brimwatch
