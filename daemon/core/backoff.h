#pragma once
// The one rule of waiting after failures: exponential, and drawn at random below the ceiling ("full jitter"), so that
// many that failed together do not come back together. Who draws, and what else bounds a wait, is the caller's.
#include <algorithm>

#include "core/text/timestamp.h"

namespace brimwatch {

/// The longest wait after a failure that `failures` others came before in a row: `base`, doubled by each; never over
/// `most`.
[[nodiscard]] constexpr Nanos backoff_ceiling(Nanos base, int failures, Nanos most) {
  Nanos ceiling = base;
  for (int i = 0; i < failures && ceiling < most; ++i) ceiling *= 2;
  return std::min(ceiling, most);
}

}  // namespace brimwatch
