#pragma once
// The only place that reads a clock. Everything else is given the time.
#include "core/text/timestamp.h"

namespace brimwatch {

/// Wall time: for "is this late?", names of days, and what people read.
[[nodiscard]] Timestamp wall_now();

/// Monotonic nanoseconds since an unknown start: for time limits and silence; does not jump when the clock is set.
[[nodiscard]] Nanos steady_now();

}  // namespace brimwatch
