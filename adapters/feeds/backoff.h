#pragma once
// When a feed tries again: by the rule of core/backoff.h, and by how long the connection held. Pure: time and chance are
// arguments.
#include "core/text/timestamp.h"

namespace brimwatch {

class Backoff {
 public:
  struct Limits {
    Nanos base = kSecond / 2;
    Nanos cap = 60 * kSecond;
    Nanos good_for = 60 * kSecond;     ///< after this long of good data the next failure counts as the first
    Nanos refusal = 60 * kSecond;      ///< least wait after a refusal that does not say how long
    Nanos asked_most = 300 * kSecond;  ///< longest wait obeyed: being blind for hours is worse than one more refusal
  };

  Backoff() : Backoff(Limits{}) {}
  explicit Backoff(Limits limits) : limits_(limits) {}

  /// Good data came.
  void on_data(Nanos steady);

  /// The attempt or the connection failed: how long to wait. `random` in [0, 1). `asked`: what the other side asked for,
  /// kept up to asked_most. A connection that gave data is missed for a third of the time that it held at the most (or
  /// the base, if that is longer), however often it breaks.
  [[nodiscard]] Nanos on_failure(double random, Nanos asked = 0);

  /// As on_failure, after a refusal (429, bad credentials): unless it says how long, an early retry makes it worse.
  [[nodiscard]] Nanos on_refusal(double random, Nanos asked = 0);

  [[nodiscard]] int failures() const { return failures_; }  ///< in a row

 private:
  Limits limits_;
  int failures_ = 0;
  Nanos first_data_ = -1, last_data_ = -1;
};

}  // namespace brimwatch
