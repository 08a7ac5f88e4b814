#pragma once
// The desk's part of a snapshot: session, market, watches, the engine's counters.
#include "core/snapshot.h"
#include "desk/desk.h"

namespace brimwatch {

/// `now` on the feed's own clock.
void describe_desk(const Desk& desk, Timestamp now, Snapshot& to);

}  // namespace brimwatch
