#pragma once
// The time of receipt when a past day is played: what our clock would have shown on that day. It starts with the first
// tick, taken as fresh, and runs `speed` times as fast as ours; so a tick that comes late is as late as it would have
// been, and a tick of last month is not.
#include "core/text/timestamp.h"

namespace brimwatch {

class RehearsalClock {
 public:
  explicit RehearsalClock(double speed) : speed_(speed) {}

  [[nodiscard]] bool is_on() const { return speed_ > 0; }
  [[nodiscard]] bool started() const { return first_.is_set(); }
  void start(Timestamp first, Nanos steady) {
    first_ = first;
    steady_ = steady;
  }
  [[nodiscard]] Timestamp at(Nanos steady) const {
    return first_ + static_cast<Nanos>(static_cast<double>(steady - steady_) * speed_);
  }

 private:
  double speed_;
  Timestamp first_;
  Nanos steady_ = 0;
};

}  // namespace brimwatch
