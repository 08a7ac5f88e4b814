#pragma once
// The feed's own time: that of the newest tick, carried on by our steady clock. So a feed that is fifteen minutes behind,
// or a recorded day that comes through a pipe, ends its day when its own time says so. Pure.
#include <algorithm>

#include "core/timestamp.h"

namespace brimwatch {

class FeedClock {
 public:
  /// A time far ahead of where the feed's clock should be by now is believed when it comes for the third time in a row: a
  /// single print dated tomorrow must not end the day.
  void see(Timestamp time, Nanos steady) {
    if (newest_.is_set() && time > now(steady) + kAheadMost && ++ahead_ < kAheadBelieved) return;
    ahead_ = 0;
    newest_ = std::max(newest_, time);
    at_ = steady;
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
