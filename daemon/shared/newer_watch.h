#pragma once
// Which of two machines' states of one watch has heard more of the tape.
#include "core/state.h"

namespace brimwatch {

/// By the exchange's own time of the last trade that changed the watch, never by a machine's clock; what has heard that a
/// trade was taken back has heard more. Of two that have heard the same, neither is newer.
[[nodiscard]] bool is_newer(const WatchState& one, const WatchState& other);
/// The exchange's time of that trade; not set: none.
[[nodiscard]] Timestamp last_heard(const WatchState& state);

}  // namespace brimwatch
