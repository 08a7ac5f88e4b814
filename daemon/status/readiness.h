#pragma once
// Whether the daemon can do its work: what /readyz and the metrics say. Pure.
#include <cstdint>
#include <string>
#include <vector>

#include "core/snapshot.h"

namespace brimwatch {

/// The exchange is open and no feed delivers: late at the start, silent, or never connected.
[[nodiscard]] bool is_blind(const Snapshot& now);

/// Those that today is a day of.
[[nodiscard]] std::uint64_t watches_in_force(const Snapshot& now);

/// What keeps notices from being sent or stored, one line each; empty: nothing. A machine that stands by for another
/// is ready.
[[nodiscard]] std::vector<std::string> what_is_amiss(const Snapshot& now);

/// "ready" and a line end, or "not ready" and what is amiss, a line each.
[[nodiscard]] std::string readiness_text(const Snapshot& now);

}  // namespace brimwatch
