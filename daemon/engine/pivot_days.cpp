#include "engine/pivot_days.h"

#include "volume/old_high.h"

namespace brimwatch {

bool begin_pivot_day(WatchMemory& memory, Date day, bool follows) {
  const bool was_there = memory.reached.is_set() || memory.side == Side::inside || memory.side == Side::over;
  memory.reached = {};
  if (memory.quiet_since != Date{} && follows && !was_there) return false;
  memory.quiet_since = day;
  return true;
}

void note_reached(WatchStand& stand, Price pivot, const Step& step, Timestamp open) {
  const bool from_below = stand.side == Side::under || stand.side == Side::unknown;
  if (stand.reached.is_set() || !from_below || step.price < pivot) return;
  stand.reached = step.first_of_day ? open : step.time;
}

void set_crossing(Moment& moment, const WatchMemory& memory, Price pivot, double minutes_since, const DayPlan& plan,
                  const Calendar& calendar) {
  moment.since_crossing = minutes_since;
  const int untouched = sessions_from(memory.quiet_since, memory.day, calendar);
  moment.lift = crossing_lift(age_of_high(plan.highs.get(), untouched, pivot)) + plan.own_lift;
}

}  // namespace brimwatch
