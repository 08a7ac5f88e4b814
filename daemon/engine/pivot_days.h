#pragma once
// When a watch's pivot was last reached: today, and on the days before; what an old high's age is told from where daily
// bars say nothing. Pure.
#include "core/state.h"
#include "engine/sides.h"
#include "session/calendar.h"
#include "volume/projection.h"

namespace brimwatch {

/// Before begin_day(): what the day before leaves. `follows`: the session before `day` was heard. Returns whether the
/// memory now knows what cannot be told from it again after a restart.
bool begin_pivot_day(WatchMemory& memory, Date day, bool follows);

/// Remembers the day's first price at or above the pivot that came from below it. `open`: of the session.
void note_reached(WatchStand& stand, Price pivot, const Step& step, Timestamp open);

/// The crossing's part of a moment: how long ago, and what volume comes with it. `minutes_since`: from `memory.reached`.
void set_crossing(Moment& moment, const WatchMemory& memory, Price pivot, double minutes_since, const DayPlan& plan,
                  const Calendar& calendar);

}  // namespace brimwatch
