#pragma once
// The feed's own time: that of the newest tick, carried on by our steady clock. So a feed that is fifteen minutes behind,
// or a recorded day that comes through a pipe, ends its day when its own time says so. Pure.
#include <algorithm>
#include <utility>

#include "core/text/timestamp.h"

namespace brimwatch {

class FeedClock {
 public:
  /// A time far ahead of where the feed's clock should be by now (before the first: far ahead of ours, `received`, where
  /// that is known) is believed when it comes for the third time in a row: a single print dated tomorrow must not end the
  /// day. One that is not ahead of our clock is believed at once, but where the feed has shown that it is behind ours:
  /// the first messages after a connection are often the last trades of stocks that trade seldom, hours old. A time that
  /// is not newer moves nothing: a quote that changes after the last trade does not hold the clock.
  enum class Seen : std::uint8_t {
    in_time,
    behind,  ///< far behind this clock: it neither bears out nor denies those that are doubted
    doubted,
    confirmed,  ///< and those doubted before it with it
    leapt,      ///< in time by our clock, and far ahead of this one: what lies between was not heard
  };
  Seen see(Timestamp time, Timestamp received, Nanos steady) {
    const bool known = received.is_set();
    const bool beyond_ours = known && time > received + kAheadMost, late = known && time + kAheadMost < received;
    const bool ahead = newest_.is_set() ? is_ahead(time, steady) : beyond_ours;
    const bool borne_out = known && !beyond_ours && late_in_row_ < kBelieved;
    if (ahead && !borne_out && ++ahead_ < kBelieved) return Seen::doubted;
    if (newest_.is_set() && time + kAheadMost < now(steady)) return Seen::behind;
    late_in_row_ = !late ? 0 : ahead && borne_out ? 1 : std::min(late_in_row_ + 1, kBelieved);
    if (time > newest_) {
      newest_ = time;
      at_ = steady;
    }
    const bool is_third = std::exchange(ahead_, 0) >= kBelieved;
    return is_third ? Seen::confirmed : ahead ? Seen::leapt : Seen::in_time;
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
  static constexpr int kBelieved = 3;  ///< so many that agree
  Timestamp newest_;
  Nanos at_ = 0;
  double speed_ = 1;
  int ahead_ = 0;        ///< in a row, doubted
  int late_in_row_ = 0;  ///< near this clock, and far from ours
};

}  // namespace brimwatch
