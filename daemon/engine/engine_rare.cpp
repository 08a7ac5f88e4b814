#include <algorithm>

#include "engine/engine_impl.h"

namespace brimwatch {

/// A minute's bar does not say which came first, its high or its low: when it closed at or above the last price, the low
/// is taken first, else the high. Each of the three prices passes the print guard like a trade. A bar that is not newer
/// than the newest one was sent again.
void Engine::Impl::take_bar(const Tick& tick) {
  if (!is_sane(tick)) return;
  SymbolHot* const hot = admit(tick);
  if (hot == nullptr) return;
  const Timestamp time = tick.time - 1;  // a bar is stamped with its end, which belongs to the next minute
  SymbolMemory& memory = cold_of(tick.symbol).memory;
  mark(tick.symbol);
  if (tick.time <= memory.newest_bar) return void(++counters_.duplicates);
  hot->feed = tick.feed;
  if (!clock_of(*hot).is_open(time)) return void(++counters_.volume_only);
  memory.newest_bar = tick.time;
  const Shares before{tick.day_volume.micros - tick.size.micros};  // what was missing came before this bar
  if (tick.day_volume > Shares{}) take_first_count(tick.symbol, before);
  reconcile(tick.symbol, time, before);
  count_volume(tick.symbol, time, tick.size);
  reconcile(tick.symbol, time, tick.day_volume);
  if (time < hot->newest || !is_in_order(*hot, memory, time)) return void(++counters_.out_of_order);
  ++counters_.eligible;
  Print print = print_of(tick);
  print.time = time;
  print.size = {};  // of single trades it says nothing
  const bool ends_up = !hot->last.is_set() || tick.price >= hot->last;
  const Price low = tick.bid, high = tick.ask;
  for (const Price price : ends_up ? std::array{low, high, tick.price} : std::array{high, low, tick.price}) {
    if (price <= Price{} || (price == hot->last && price != tick.price)) continue;
    print.price = price;
    offer(tick.symbol, print);
    print.again = true;
  }
}

/// Whether a snapshot's price is that of a trade that has been taken or is held. One that says no id says it by its time.
bool Engine::Impl::is_known_print(SymbolId id, const Print& print) const {
  const SymbolMemory& memory = cold_of(id).memory;
  const bool waits = hot_of(id).holding && is_same_trade(memory.held, print.seen());
  return waits || is_same_trade(memory.newest_print(), print.seen());
}

/// A snapshot says the price of its last trade, with that one's codes, and the day's volume; it has no size of its own.
/// Where nothing was traded since the one before, its price is the same trade's.
void Engine::Impl::take_day(const Tick& tick) {
  if (!is_sane(tick)) return;
  SymbolHot* const hot = admit(tick);
  if (hot == nullptr) return;
  mark(tick.symbol);
  hot->feed = tick.feed;
  SymbolMemory& memory = cold_of(tick.symbol).memory;
  if (tick.time < clock_of(*hot).session()->open) take_count_before_open(tick.symbol, tick.day_volume);
  else if (tick.day_volume < memory.day_volume_base) memory.day_volume_base = {};  // it began anew at the open
  const bool has_grown = tick.day_volume.micros - memory.day_volume_base.micros > volume_of(tick.symbol).so_far.micros;
  const std::uint16_t bars = (hot->tape == Tape::cts ? cts_cache_ : utdf_cache_).bars_of(tick.conditions);
  if (bars & kUnknownCode) ++counters_.unknown_conditions;
  if (!clock_of(*hot).is_open(tick.time)) {
    ++counters_.volume_only;
    if (has_grown && tick.time >= clock_of(*hot).session()->close) take_close_of(tick, bars);
    return;
  }
  reconcile(tick.symbol, tick.time, tick.day_volume);
  Print print = print_of(tick);
  print.size = {};  // a snapshot has none
  if (!moves_last(*hot, tick, bars)) return take_beside(tick.symbol, tick, bars);
  const bool is_quiet = tick.day_volume > Shares{} ? !has_grown : tick.time <= hot->newest;
  print.again = is_quiet || is_known_print(tick.symbol, print);
  if (!is_in_order(*hot, memory, tick.time)) return void(++counters_.out_of_order);
  ++counters_.eligible;
  offer(tick.symbol, print);
}

/// The first volume that a snapshot after the close adds is the closing auction's, and its price the day's close, unless
/// its codes say that it is no last price.
void Engine::Impl::take_close_of(const Tick& tick, std::uint16_t bars) {
  const SymbolHot& hot = hot_of(tick.symbol);
  SymbolMemory& memory = cold_of(tick.symbol).memory;
  reconcile(tick.symbol, tick.time, tick.day_volume);
  if ((bars & kNoLast) != 0) return;
  if (memory.closing.price.is_set() || !hot.last.is_set()) return;
  if (hot.bad_print != 0 && is_far(tick.symbol, tick.price, hot.last, hot.bad_print)) return;
  memory.closing = print_of(tick).seen();
  move_high_low(tick.symbol, memory.closing);
}

/// The feed's own count of the day wins when it is higher: something was lost on the way, or fell into a hole, which is
/// healed by it. What was missing is spread over the minutes since the last trade.
void Engine::Impl::reconcile(SymbolId id, Timestamp time, Shares day_volume) {
  DayVolume& day = volume_of(id);
  if (day_volume > kDayMost) return void(++counters_.absurd);
  if (day_volume > Shares{}) day_volume.micros -= cold_of(id).memory.day_volume_base.micros;
  if (!(day_volume > Shares{}) || day_volume < day.so_far) return;
  heal(id);
  if (day_volume == day.so_far) return;
  const auto minute = static_cast<std::int32_t>(traded_time(id, time) / kMinute);
  const std::int64_t missing = day_volume.micros - day.so_far.micros;
  const std::int32_t from = std::min(day.minute + 1, minute);
  const std::int64_t each = missing / (minute - from + 1);
  if (minute > day.minute) pass_knots(id, minute);
  day.so_far += Shares{missing - each * (minute - from + 1)};
  for (std::int32_t m = from; m <= minute; ++m) day.add(m, Shares{each});
}

}  // namespace brimwatch
