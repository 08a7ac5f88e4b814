#pragma once
// The moment at which the invented days of the feeds' tests begin.
#include "core/text/timestamp.h"

namespace brimwatch {

inline constexpr Timestamp kOpen{1'764'081'000'000'000'000};  // 2025-11-25T14:30:00Z

}  // namespace brimwatch
