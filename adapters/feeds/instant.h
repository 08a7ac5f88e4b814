#pragma once
// One moment on both of our clocks: read together by the caller, passed down as an argument.
#include "core/text/timestamp.h"

namespace brimwatch {

struct Instant {
  Timestamp wall;    ///< for comparing with what feeds stamp; may step
  Nanos steady = 0;  ///< for spans; never steps
};

}  // namespace brimwatch
