#include "core/watch.h"

namespace brimwatch {

void set_levels(Watch& watch) {
  const Rules& rules = watch.rules;
  watch.range_top = round_down(add_percent_down(watch.pivot, rules.range), rules.tick_size);
  watch.rearm_level = add_percent_down(watch.pivot, -rules.rearm);
  watch.slip_level = add_percent_down(watch.pivot, -rules.slip);
  watch.loss_limit = add_percent_down(watch.pivot, -rules.loss);
}

}  // namespace brimwatch
