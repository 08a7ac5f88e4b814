#pragma once
#include "core/tick.h"

namespace brimwatch {

/// A feed that was away for less has left no hole.
constexpr Nanos kHoleLeast = kSecond;

}  // namespace brimwatch
