#pragma once
// The rate of one channel: a few at once, then one every so often.
#include <algorithm>

#include "core/text/timestamp.h"

namespace brimwatch {

class Pace {
 public:
  explicit Pace(int per_minute)
      : interval_(kMinute / std::clamp(per_minute, 1, 6000)), burst_(std::clamp(per_minute, 1, kBurstMost)) {}

  /// How many messages may go out at `now`.
  [[nodiscard]] int allowed(Timestamp now) const {
    const Nanos ahead = std::max<Nanos>(0, spent_until_ - now);
    // A clock that was set back must not close the channel until it has caught up.
    if (ahead > most_ahead()) return burst_;
    return static_cast<int>((burst_ * interval_ - std::min(ahead, burst_ * interval_)) / interval_);
  }
  void spend(Timestamp now) {
    if (spent_until_ - now > most_ahead()) spent_until_ = now;
    spent_until_ = std::clamp(spent_until_, now, now + burst_ * interval_) + interval_;
  }
  /// When allowed() is at least one again.
  [[nodiscard]] Timestamp opens() const { return spent_until_ - (burst_ - 1) * interval_; }

 private:
  static constexpr int kBurstMost = 5;

  [[nodiscard]] Nanos most_ahead() const { return (burst_ + 1) * interval_; }

  Nanos interval_;
  int burst_;
  Timestamp spent_until_;  ///< as if messages were spread evenly
};

}  // namespace brimwatch
