#include "core/watch.h"

#include <algorithm>

namespace brimwatch {
namespace {

/// No percent under the pivot is still under it.
Price under(Price pivot, std::int32_t percent, const Rules& rules) {
  const Price exact = add_percent_down(pivot, -percent);
  return on_tick_down(rules, std::min(exact, Price{pivot.micros - 1}));
}

}  // namespace

Price tick_at(const Rules& rules, Price price) {
  return rules.tick_size.is_set() ? rules.tick_size : tick_at(rules.tick_table, price);
}

Price on_tick_down(const Rules& rules, Price price) { return round_down(price, tick_at(rules, price)); }

Price on_tick_up(const Rules& rules, Price price) {
  const Price down = on_tick_down(rules, price);
  return down == price ? price : Price{down.micros + tick_at(rules, price).micros};
}

Levels levels_of(Price pivot, const Rules& rules) {
  Levels levels;
  levels.pivot = pivot;
  levels.range_top = on_tick_down(rules, add_percent_down(pivot, rules.range));
  const Price by_slip = add_percent_down(levels.range_top, -rules.slip / 4);
  const Price by_range{levels.range_top.micros - (levels.range_top.micros - pivot.micros) / 4};
  levels.back = std::max(on_tick_down(rules, std::max(by_slip, by_range)), pivot);
  levels.rearm = under(pivot, rules.rearm, rules);
  levels.slip = under(pivot, rules.slip, rules);
  levels.loss = under(pivot, rules.loss, rules);
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
