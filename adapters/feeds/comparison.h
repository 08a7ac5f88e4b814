#pragma once
// Feeds that carry the same trades judge each other: one that has stopped falls behind what another gives, long before
// its own silence is beyond chance. Sources are seldom equal (one may carry what the other never does), so what counts is
// learned: how many seconds with trades of the others usually lie between two of its own. Pure.
#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include "core/text/timestamp.h"

namespace brimwatch {

class FeedComparison {
 public:
  struct Behind {
    std::size_t other = 0;  ///< who gave last
    Nanos since = 0;        ///< steady time of the first trade after its own last
    int seconds = 0;        ///< with trades of the others, since its own last
  };

  /// By feed: the first of its group; only feeds of one group are compared.
  explicit FeedComparison(std::vector<std::size_t> group) : group_(std::move(group)), feeds_(group_.size()) {}

  /// Feed `feed` has given trades.
  void on_trades(std::size_t feed, Nanos steady) {
    answer(feeds_[feed]);
    for (std::size_t i = 0; i < feeds_.size(); ++i)
      if (i != feed && group_[i] == group_[feed]) miss(feeds_[i], feed, steady);
  }

  /// Nothing that was missed until now counts: it could not give, or nobody looked.
  void forgive(std::size_t feed) { feeds_[feed].behind = {}; }

  /// Whether it has stopped, judged by the others; nullptr: no, or too little is known of it.
  [[nodiscard]] const Behind* stopped(std::size_t feed, Nanos steady, Nanos patience) const {
    const One& one = feeds_[feed];
    const bool beyond = one.behind.seconds > kBeyond * one.longest - 2;
    return one.answers >= kKnown && beyond && steady - one.behind.since > patience ? &one.behind : nullptr;
  }

  /// What was learned of a feed that goes on in another list.
  void take_over(std::size_t feed, const FeedComparison& old, std::size_t was) { feeds_[feed] = old.feeds_[was]; }

 private:
  static constexpr int kKnown = 20;             ///< times it answered before it can be judged
  static constexpr double kBeyond = 4;          ///< times the longest run, for runs at random have long tails
  static constexpr double kForgets = 1.0 / 64;  ///< of the longest run beyond one, at each answer

  struct One {
    Behind behind;
    int answers = 0;
    double longest = 1;  ///< run of seconds that it did not answer, lately
    Nanos last_miss = 0;
  };

  /// One long run must not blind the comparison, nor many of them be told each time: each widens it by one step.
  static void answer(One& one) {
    const double run = std::min<double>(one.behind.seconds, 2 * one.longest + 1);
    one.longest = std::max({run, one.longest - (one.longest - 1) * kForgets, 1.0});
    one.behind = {};
    if (one.answers < kKnown) ++one.answers;
  }
  static void miss(One& one, std::size_t other, Nanos steady) {
    if (one.behind.seconds == 0) one.behind.since = steady;
    else if (steady - one.last_miss < kSecond) return;
    one.last_miss = steady;
    one.behind.other = other;
    ++one.behind.seconds;
  }

  std::vector<std::size_t> group_;
  std::vector<One> feeds_;
};

}  // namespace brimwatch
