#include "adapters/feeds/backoff.h"

#include <algorithm>

#include "core/backoff.h"

namespace brimwatch {

void Backoff::on_data(Nanos steady) {
  if (first_data_ < 0) first_data_ = steady;
  last_data_ = steady;
}

Nanos Backoff::on_failure(double random, Nanos asked) {
  const bool worked = first_data_ >= 0;
  const Nanos held = last_data_ - first_data_;
  if (worked && held >= limits_.good_for) failures_ = 0;
  first_data_ = last_data_ = -1;
  Nanos ceiling = backoff_ceiling(limits_.base, failures_, limits_.cap);
  if (worked) ceiling = std::min(ceiling, std::max(limits_.base, held / 3));
  ++failures_;
  // What the other side asked for comes first; the jitter on top, so that its clients do not return as one.
  return std::min(std::max<Nanos>(asked, 0), limits_.asked_most) +
         static_cast<Nanos>(random * static_cast<double>(ceiling));
}

Nanos Backoff::on_refusal(double random, Nanos asked) { return on_failure(random, asked > 0 ? asked : limits_.refusal); }

}  // namespace brimwatch
