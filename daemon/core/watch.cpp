#include "core/watch.h"

#include <algorithm>

namespace brimwatch {

Levels levels_of(Price pivot, const Rules& rules) {
  Levels levels;
  levels.pivot = pivot;
  levels.range_top = round_down(add_percent_down(pivot, rules.range), rules.tick_size);
  const Price by_slip = add_percent_down(levels.range_top, -rules.slip / 4);
  const Price by_range{levels.range_top.micros - (levels.range_top.micros - pivot.micros) / 4};
  levels.back = std::max(by_slip, by_range);
  // No percent under the pivot is still under it.
  const Price highest{pivot.micros - 1};
  levels.rearm = std::min(add_percent_down(pivot, -rules.rearm), highest);
  levels.slip = std::min(add_percent_down(pivot, -rules.slip), highest);
  const Price loss = std::min(add_percent_down(pivot, -rules.loss), highest), on_tick = round_down(loss, rules.tick_size);
  levels.loss = on_tick.is_set() ? on_tick : loss;
  return levels;
}

void set_levels(Watch& watch) {
  const Levels levels = levels_of(watch.pivot, watch.rules);
  watch.range_top = levels.range_top;
  watch.rearm_level = levels.rearm;
  watch.slip_level = levels.slip;
  watch.loss_limit = levels.loss;
}

}  // namespace brimwatch
