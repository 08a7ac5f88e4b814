#pragma once
// The feed's own time: that of the newest tick, carried on by our steady clock. So a feed that is fifteen minutes behind,
// or a recorded day that comes through a pipe, ends its day when its own time says so. Pure.
#include <algorithm>

#include "core/text/timestamp.h"

namespace brimwatch {

class FeedClock {
 public:
  /// A time far ahead of where the feed's clock should be by now (before the first: far ahead of ours, `received`, where
  /// that is known) is believed when it comes for the third time in a row: a single print dated tomorrow must not end the
  /// day. A time that is not newer moves nothing: a quote that changes after the last trade does not hold the clock.
  enum class Seen : std::uint8_t { in_time, doubted, confirmed };  ///< confirmed: and those doubted before it with it
  Seen see(Timestamp time, Timestamp received, Nanos steady) {
    const bool ahead = newest_.is_set() ? is_ahead(time, steady) : received.is_set() && time > received + kAheadMost;
    if (ahead && ++ahead_ < kAheadBelieved) return Seen::doubted;
    ahead_ = 0;
    if (time > newest_) {
      newest_ = time;
      at_ = steady;
    }
    return ahead ? Seen::confirmed : Seen::in_time;
  }
  /// Further ahead of where this clock is now than the times of a feed ever are.
  [[nodiscard]] bool is_ahead(Timestamp time, Nanos steady) const { return time > now(steady) + kAheadMost; }
  [[nodiscard]] bool is_set() const { return newest_.is_set(); }
  [[nodiscard]] Timestamp newest() const { return newest_; }
  [[nodiscard]] Timestamp now(Nanos steady) const {
    const Nanos slow = std::min(steady - at_, kPatience), fast = steady - at_ - slow;
    return newest_ + slow + static_cast<Nanos>(static_cast<double>(fast) * speed_);
  }
  /// A day that is played so many times as fast goes on so after its last tick. A source that only stutters must not
  /// find its day over: the speed counts from kPatience after the newest tick on.
  void set_speed(double speed) { speed_ = speed; }

  static constexpr Nanos kAheadMost = 2 * kMinute;
  static constexpr Nanos kPatience = 5 * kSecond;

 private:
  static constexpr int kAheadBelieved = 3;
  Timestamp newest_;
  Nanos at_ = 0;
  double speed_ = 1;
  int ahead_ = 0;
};

}  // namespace brimwatch
