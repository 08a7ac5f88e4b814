#include "adapters/feeds/backoff.h"

#include <algorithm>

namespace brimwatch {

void Backoff::on_data(Nanos steady) {
  if (first_data_ < 0) first_data_ = steady;
  last_data_ = steady;
}

Nanos Backoff::on_failure(double random, Nanos at_least) {
  if (first_data_ >= 0 && last_data_ - first_data_ >= limits_.good_for) failures_ = 0;
  first_data_ = last_data_ = -1;
  Nanos ceiling = limits_.base;
  for (int i = 0; i < failures_ && ceiling < limits_.cap; ++i) ceiling *= 2;
  ceiling = std::min(ceiling, limits_.cap);
  ++failures_;
  const auto jittered = static_cast<Nanos>(random * static_cast<double>(ceiling));
  // What the other side asked for is kept in full; the jitter comes on top, so that its clients do not return as one.
  return at_least > 0 ? at_least + jittered : jittered;
}

Nanos Backoff::on_refusal(double random, Nanos at_least) {
  return on_failure(random, std::max(at_least, limits_.refusal));
}

}  // namespace brimwatch
