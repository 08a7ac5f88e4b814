#pragma once
// What a person sees of the house: who speaks, who stands by, and how each member is, as far as this machine knows.
#include "core/snapshot.h"
#include "shared/voice.h"

namespace brimwatch {

/// All but the counters, which are the keeper's.
[[nodiscard]] SharedRow row_of(const Voice& voice);

}  // namespace brimwatch
