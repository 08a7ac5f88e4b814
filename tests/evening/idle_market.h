#pragma once
// An invented market in which no rule can know anything: what follows a crossing has the mean 0 whatever came before. But
// it is like a real one in what deceives: fat tails (Student's t of five degrees), volatility that comes in stretches
// (GARCH 1,1 of the common factor), stocks that move together, and rules that act in stretches of days.
#include <cstdint>
#include <string>
#include <vector>

#include "evening/block_test.h"

namespace brimwatch::testing_support {

/// How the second set of rules differs from the first.
enum class IdleRules {
  random,      ///< each set takes half of the crossings, by chance
  nested,      ///< the first takes every crossing, the second half of them
  trend_gate,  ///< the second takes those that come while the index is above its mean of fifty sessions
  calm_half,   ///< the second takes those of the sessions that are calmer than the middle one
};
[[nodiscard]] std::string name_of(IdleRules rules);

constexpr int kIdleSpan = 20;  ///< sessions that an outcome takes

/// About two crossings a session; an outcome is the move of the next kIdleSpan sessions, percent.
struct IdleRun {
  std::vector<SessionPair> as_it_is, less_index;
};
[[nodiscard]] IdleRun idle_run(IdleRules rules, int sessions, std::uint64_t seed);

/// Shares of `runs` in which the two sets are called different at a nominal 5 %.
struct CalledDifferent {
  double as_it_is = 0, less_index = 0;
};
[[nodiscard]] CalledDifferent called_different(IdleRules rules, int sessions, int runs);

}  // namespace brimwatch::testing_support
