#pragma once
// The feed's own time: that of the newest tick, carried on by our steady clock. So a feed that is fifteen minutes behind,
// or a recorded day that comes through a pipe, ends its day when its own time says so. Pure.
#include <algorithm>

#include "core/timestamp.h"

namespace brimwatch {

class FeedClock {
 public:
  /// A time far ahead of where the feed's clock should be by now (before the first: far ahead of ours, `received`, where
  /// that is known) is believed when it comes for the third time in a row: a single print dated tomorrow must not end the
  /// day. Says whether it is believed.
  bool see(Timestamp time, Timestamp received, Nanos steady) {
    const Timestamp expected = newest_.is_set() ? now(steady) : received;
    if (expected.is_set() && time > expected + kAheadMost && ++ahead_ < kAheadBelieved) return false;
    ahead_ = 0;
    newest_ = std::max(newest_, time);
    at_ = steady;
    return true;
  }
  [[nodiscard]] bool is_set() const { return newest_.is_set(); }
  [[nodiscard]] Timestamp newest() const { return newest_; }
  [[nodiscard]] Timestamp now(Nanos steady) const { return newest_ + (steady - at_); }

 private:
  static constexpr Nanos kAheadMost = 2 * kMinute;
  static constexpr int kAheadBelieved = 3;
  Timestamp newest_;
  Nanos at_ = 0;
  int ahead_ = 0;
};

}  // namespace brimwatch
