#pragma once
// How often something usually happens, to tell a silence from a quiet moment. Pure.
#include <algorithm>

#include "core/text/timestamp.h"

namespace brimwatch {

class Rate {
 public:
  void on_event(Nanos steady) {
    if (events_ > 0) {
      const double gap = static_cast<double>(std::max<Nanos>(steady - last_, 0));
      const double weight = std::max(1.0 / 128, 1.0 / (events_ + 16));
      mean_gap_ += weight * (gap - mean_gap_);
    }
    last_ = steady;
    if (events_ < 1'000'000) ++events_;
  }

  /// A pause that says nothing (night, lunch, reconnect): the next gap is counted from here.
  void skip_to(Nanos steady) { last_ = std::max(last_, steady); }

  [[nodiscard]] int events() const { return events_; }
  [[nodiscard]] Nanos last() const { return last_; }
  [[nodiscard]] Nanos usual_gap() const { return static_cast<Nanos>(mean_gap_); }

  /// Whether nothing for so long is beyond chance: with events at random the odds of it are e^-20. Trades cluster, so
  /// the mean alone would cry wolf; hence the large factor, larger while few events are known, and `least` beside it.
  [[nodiscard]] bool is_silent(Nanos steady, Nanos least) const {
    const double factor = 20 * (1 + 16.0 / std::max(events_, 1));
    return steady - last_ > std::max(least, static_cast<Nanos>(factor * mean_gap_));
  }

 private:
  int events_ = 0;
  Nanos last_ = 0;
  double mean_gap_ = 5e9;  ///< a guess with the weight of sixteen events: two quick ones do not make it a busy feed
};

}  // namespace brimwatch
