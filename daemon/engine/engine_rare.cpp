#include <algorithm>

#include "engine/engine_impl.h"

namespace brimwatch {
namespace {

constexpr Nanos kResumeAfter = 10 * kSecond;  ///< a trade this long into a halt ends it: the feed has not said so

Print print_of(const Tick& tick) { return {tick.price, tick.time, tick.received, tick.id, tick.exchange}; }

}  // namespace

// ---- cancels and corrections ------------------------------------------------------------------------------------------

/// Like admit(), but a day that is over still takes corrections; a day that is past does not.
SymbolHot* Engine::Impl::admit_correction(const Tick& tick) {
  if (is_ahead(tick)) return ++counters_.absurd, nullptr;  // nor may it end a day
  if (!is_watched(tick.symbol)) return ++counters_.ignored, nullptr;
  SymbolHot& hot = hot_of(tick.symbol);
  if (!clock_of(hot).holds(tick.time)) move_clock(hot.clock, tick.time);
  const DayClock& clock = clock_of(hot);
  if (clock.is_past(tick.time) || clock.session() == nullptr || hot.day != clock.day()) {
    return ++counters_.unmatched_corrections, nullptr;
  }
  if (hot.is_stale) catch_up(tick.symbol);
  return &hot;
}

/// Did the trade that this row takes back add to the day's volume? Its time is the trade's own where it has no id, and
/// may be the cancel's where it has one.
bool Engine::Impl::was_counted(const SymbolHot& hot, const Tick& tick) const {
  const std::uint16_t bars = bars_on(hot, tick);
  if (bars & kNoVolume) return false;
  if (options_.extended_volume || clock_of(hot).is_open(tick.time)) return true;
  if (is_closing_print(hot, tick, bars)) return true;
  const std::string_view codes = tick.conditions.view();
  return tick.id != 0 && codes.find_first_of("TU") == std::string_view::npos;
}

void Engine::Impl::change_volume(SymbolId id, Timestamp time, Shares by) {
  DayVolume& day = volume_of(id);
  if (day.so_far.micros + by.micros < 0 || day.so_far > kDayMost) {
    ++counters_.unmatched_corrections;
    return;
  }
  const auto minute = static_cast<std::int32_t>(traded_time(id, time) / kMinute);
  if (minute > day.minute) day.so_far += by;
  else day.add(minute, by);
}

void Engine::Impl::take_cancel(const Tick& tick) {
  ++counters_.corrections;
  if (tick.size < Shares{} || tick.size > kSizeMost) return void(++counters_.absurd);
  SymbolHot* const hot = admit_correction(tick);
  if (hot == nullptr) return;
  if (was_counted(*hot, tick)) change_volume(tick.symbol, tick.time, Shares{-tick.size.micros});
  undo(tick.symbol, print_of(tick));
  mark(tick.symbol);
  if (clock_of(*hot).is_over()) write_day_record(tick.symbol, *clock_of(*hot).session());  // the notice is not said again
}

void Engine::Impl::take_correct(const Tick& tick) {
  ++counters_.corrections;
  const bool sane =
      tick.size >= Shares{} && tick.size <= kSizeMost && tick.bid_size >= Shares{} && tick.bid_size <= kSizeMost;
  if (!sane) return void(++counters_.absurd);
  SymbolHot* const hot = admit_correction(tick);
  if (hot == nullptr) return;
  // Without the old size nobody knows by how much the day changes.
  const bool by_size = tick.bid_size > Shares{};
  if (by_size && was_counted(*hot, tick))
    change_volume(tick.symbol, tick.time, Shares{tick.size.micros - tick.bid_size.micros});
  if (tick.price != tick.bid) {
    Print old = print_of(tick);
    old.price = tick.bid;
    undo(tick.symbol, old);
  }
  mark(tick.symbol);
  if (clock_of(*hot).is_over()) write_day_record(tick.symbol, *clock_of(*hot).session());  // the notice is not said again
}

/// Takes back what the print did to the last price and to watches.
void Engine::Impl::undo(SymbolId id, const Print& print) {
  SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  const Step taken_back{print.price, print.time, print.trade, print.exchange};
  const Step last{hot.last, memory.last_price_time, memory.last_trade, hot.last_exchange};
  if (hot.last.is_set() && memory.before.is_set() && is_same_trade(last, taken_back)) hot.last = memory.before;
  Print when = print;
  when.time = std::max(print.time, hot.newest);
  for (WatchSlot& slot : book_.watches(hot)) {
    if (!slot.is_active(hot.day)) continue;
    count_waiting(hot, slot, -1);
    const bool undone = take_back(slot.memory, taken_back);
    count_waiting(hot, slot, +1);
    if (!undone) continue;
    Notice notice = make_notice(slot, NoticeKind::corrected, when);
    notice.count = ++slot.memory.counts[static_cast<std::size_t>(NoticeKind::corrected)];
    notice.volume = volume_at(slot, when.time);
    update_triggers(hot, slot);
    mark(slot);
    emit(std::move(notice));
  }
  refresh_nearest(hot);
}

// ---- trading status
// ----------------------------------------------------------------------------------------------------

void Engine::Impl::take_status(const Tick& tick) {
  if (is_ahead(tick)) return void(++counters_.absurd);
  SymbolHot* const hot = admit(tick);
  if (hot == nullptr) return;
  Print print = print_of(tick);
  print.price = hot->last;
  switch (tick.status) {
    case TradingStatus::none:
      return;
    case TradingStatus::trading:
      return resume(tick.symbol, print);
    case TradingStatus::halted:
    case TradingStatus::paused:
    case TradingStatus::quotation:
      return halt(tick.symbol, print);
  }
}

void Engine::Impl::halt(SymbolId id, const Print& print) {
  SymbolMemory& memory = cold_of(id).memory;
  if (memory.halted_since.is_set()) return;
  memory.halted_since = print.time;
  hot_of(id).has_halts = true;
  mark(id);
  tell_all(id, NoticeKind::halted, print);
}

void Engine::Impl::resume(SymbolId id, const Print& print) {
  SymbolMemory& memory = cold_of(id).memory;
  if (!memory.halted_since.is_set()) return;
  const DayClock& clock = clock_of(hot_of(id));
  memory.halted_for += std::max<Nanos>(0, clock.elapsed(print.time) - clock.elapsed(memory.halted_since));
  memory.halted_since = {};
  mark(id);
  tell_all(id, NoticeKind::resumed, print);
}

void Engine::Impl::resume_on_trade(SymbolId id, const Print& print) {
  if (print.time - cold_of(id).memory.halted_since >= kResumeAfter) resume(id, print);
}

void Engine::Impl::tell_all(SymbolId id, NoticeKind kind, const Print& print) {
  const SymbolHot& hot = hot_of(id);
  for (WatchSlot& slot : book_.watches(hot)) {
    if (!slot.is_active(hot.day)) continue;
    Notice notice = make_notice(slot, kind, print);
    notice.count = ++slot.memory.counts[static_cast<std::size_t>(kind)];
    notice.volume = volume_at(slot, print.time);
    mark(slot);
    emit(std::move(notice));
  }
}

// ---- bars and snapshots
// ------------------------------------------------------------------------------------------------

/// A minute's bar does not say which came first, its high or its low: when it closed at or above the last price, the low
/// is taken first, else the high. Each of the three prices passes the print guard like a trade.
void Engine::Impl::take_bar(const Tick& tick) {
  if (!is_sane(tick)) return;
  SymbolHot* const hot = admit(tick);
  if (hot == nullptr) return;
  const Timestamp time = tick.time - 1;  // a bar is stamped with its end, which belongs to the next minute
  mark(tick.symbol);
  if (!clock_of(*hot).is_open(time)) return void(++counters_.volume_only);
  reconcile(tick.symbol, time,
            Shares{tick.day_volume.micros - tick.size.micros});  // what was missing came before this bar
  count_volume(tick.symbol, time, tick.size);
  reconcile(tick.symbol, time, tick.day_volume);
  if (time < hot->newest) return void(++counters_.out_of_order);
  hot->newest = time;
  ++counters_.eligible;
  Print print = print_of(tick);
  print.time = time;
  const bool ends_up = !hot->last.is_set() || tick.price >= hot->last;
  const Price low = tick.bid, high = tick.ask;
  for (const Price price : ends_up ? std::array{low, high, tick.price} : std::array{high, low, tick.price}) {
    if (price <= Price{} || (price == hot->last && price != tick.price)) continue;
    print.price = price;
    offer(tick.symbol, print);
    print.again = true;
  }
}

/// A snapshot says the last eligible price and the day's volume; it has no size of its own. Where nothing was traded
/// since the one before, its price is the same trade's.
void Engine::Impl::take_day(const Tick& tick) {
  if (!is_sane(tick)) return;
  SymbolHot* const hot = admit(tick);
  if (hot == nullptr) return;
  mark(tick.symbol);
  const bool has_grown = tick.day_volume > volume_of(tick.symbol).so_far;
  if (!clock_of(*hot).is_open(tick.time)) {
    ++counters_.volume_only;
    if (has_grown && tick.time >= clock_of(*hot).session()->close) take_close_of(tick);
    return;
  }
  reconcile(tick.symbol, tick.time, tick.day_volume);
  Print print = print_of(tick);
  print.again = tick.day_volume > Shares{} ? !has_grown : tick.time <= hot->newest;
  if (tick.time < hot->newest - 2 * kSecond) return void(++counters_.out_of_order);
  hot->newest = std::max(hot->newest, tick.time);
  ++counters_.eligible;
  offer(tick.symbol, print);
}

/// The first volume that a snapshot after the close adds is the closing auction's, and its price the day's close.
void Engine::Impl::take_close_of(const Tick& tick) {
  const SymbolHot& hot = hot_of(tick.symbol);
  SymbolMemory& memory = cold_of(tick.symbol).memory;
  reconcile(tick.symbol, tick.time, tick.day_volume);
  if (memory.close.is_set() || !hot.last.is_set()) return;
  if (hot.bad_print != 0 && is_far(tick.price, hot.last, hot.bad_print)) return;
  memory.close = tick.price;
  move_high_low(tick.symbol, tick.price);
}

/// The feed's own count of the day wins when it is higher: something was lost on the way, or fell into a hole, which is
/// healed by it. What was missing is spread over the minutes since the last trade.
void Engine::Impl::reconcile(SymbolId id, Timestamp time, Shares day_volume) {
  DayVolume& day = volume_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  if (day_volume > kDayMost) return void(++counters_.absurd);
  if (!(day_volume > Shares{}) || day_volume < day.so_far) return;
  memory.healed_share += memory.missed_share;
  memory.missed_minutes = memory.missed_from = memory.missed_to = memory.missed_share = 0;
  if (day_volume == day.so_far) return;
  const auto minute = static_cast<std::int32_t>(traded_time(id, time) / kMinute);
  const std::int64_t missing = day_volume.micros - day.so_far.micros;
  const std::int32_t from = std::min(day.minute + 1, minute);
  const std::int64_t each = missing / (minute - from + 1);
  if (minute > day.minute) pass_knots(id, minute);
  day.so_far += Shares{missing - each * (minute - from + 1)};
  for (std::int32_t m = from; m <= minute; ++m) day.add(m, Shares{each});
}

// ---- holes
// -------------------------------------------------------------------------------------------------------------

/// A hole of all symbols begins the day of those that have not been heard of yet, so that each remembers what it missed.
void Engine::Impl::take_hole(const Tick& tick) {
  const Timestamp to = std::max(tick.received, tick.time);
  if (tick.symbol != kNoSymbol) {
    if (!is_watched(tick.symbol)) return void(++counters_.ignored);
    return hole_of(tick.symbol, tick.time, to);
  }
  for (SymbolId id = 0; id < book_.hot.size(); ++id) {
    if (is_watched(id)) hole_of(id, tick.time, to);
  }
}

void Engine::Impl::hole_of(SymbolId id, Timestamp from, Timestamp to) {
  SymbolHot& hot = hot_of(id);
  if (!clock_of(hot).holds(to)) move_clock(hot.clock, to);
  const DayClock& clock = clock_of(hot);
  if (clock.session() == nullptr || clock.is_over() || clock.is_past(to)) return;
  if (hot.day != clock.day()) begin_day(id);
  if (hot.is_stale) catch_up(id);
  add_hole(id, from, to);
}

void Engine::Impl::add_hole(SymbolId id, Timestamp from, Timestamp to) {
  const SymbolHot& hot = hot_of(id);
  SymbolCold& cold = cold_of(id);
  SymbolMemory& memory = cold.memory;
  const double total = static_cast<double>(clock_of(hot).elapsed(Timestamp{kNever})) / static_cast<double>(kMinute);
  const double begin = static_cast<double>(traded_time(id, from)) / static_cast<double>(kMinute);
  const double end = static_cast<double>(traded_time(id, to)) / static_cast<double>(kMinute);
  memory.in_hole = hot.last.is_set();
  mark(id);
  if (!(end > begin)) return;
  const Curve* known = cold.group_count > 0 ? book_.groups[cold.first_group].plan.curve.get() : nullptr;
  const Curve& curve = known != nullptr ? *known : default_curve();
  memory.missed_minutes += end - begin;
  memory.missed_to = end;
  memory.missed_from = std::max(0.0, end - memory.missed_minutes);
  memory.missed_share += curve.at(end * 390 / total) - curve.at(begin * 390 / total);
}

}  // namespace brimwatch
