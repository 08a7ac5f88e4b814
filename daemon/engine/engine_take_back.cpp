#include <algorithm>

#include "engine/engine_impl.h"
#include "engine/pivot_days.h"

namespace brimwatch {
namespace {

/// What a watch told before must not be told again; what it has not told yet is.
bool is_new(const WatchStand& was, const SideEvents::One& one) {
  return one.count > was.counts[static_cast<std::size_t>(one.kind)];
}

Print print_of_seen(const SeenPrint& seen) {
  Print print;
  print.price = seen.price;
  print.time = seen.time;
  print.trade = seen.trade;
  print.exchange = seen.exchange;
  return print;
}

}  // namespace

/// Like admit(), but a day that is over still takes corrections; a day that is past does not.
SymbolHot* Engine::Impl::admit_correction(const Tick& tick) {
  if (is_ahead(tick)) return ++counters_.absurd, nullptr;  // nor may it end a day
  if (!is_watched(tick.symbol)) return ++counters_.ignored, nullptr;
  SymbolHot& hot = hot_of(tick.symbol);
  if (!clock_of(hot).holds(tick.time)) {
    if (is_leap(clock_of(hot), tick.time)) return ++counters_.absurd, nullptr;
    move_clock(hot.clock, tick.time);
    if (clock_of(hot).is_past(tick.time)) return ++counters_.unmatched_corrections, nullptr;
  }
  if (tick.time >= due_) confirm_due(tick.time);
  const DayClock& clock = clock_of(hot);
  if (clock.session() == nullptr || hot.day != clock.day()) return ++counters_.unmatched_corrections, nullptr;
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
  undo(tick.symbol, print_of(tick), Price{});
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
    undo(tick.symbol, old, tick.price);
  }
  mark(tick.symbol);
  if (clock_of(*hot).is_over()) write_day_record(tick.symbol, *clock_of(*hot).session());  // the notice is not said again
}

/// Takes back what the print did to the day's prices and to watches; `corrected` is its new price, not set when it is
/// cancelled. What the tape says besides still stands: a watch goes back to where it stood before the print, and then
/// through what has come since, as far as that is remembered.
void Engine::Impl::undo(SymbolId id, const Print& print, Price corrected) {
  SymbolHot& hot = hot_of(id);
  const SymbolMemory& memory = cold_of(id).memory;
  const Price beside = is_same_trade(memory.newest_print(), print.seen()) ? memory.before() : hot.last;
  const bool is_bad = hot.bad_print != 0 && beside.is_set() && is_far(id, corrected, beside, hot.bad_print);
  if (!(corrected > Price{}) || is_bad) corrected = {};
  if (hot.holding && is_same_trade(memory.held, print.seen())) {
    drop_held(id);
    if (corrected.is_set()) {
      Print again = print;
      again.price = corrected;
      again.time = std::max(print.time, hot.newest);
      offer(id, again);
    }
    return;
  }
  correct_extremes(id, print, corrected);
  const Later later = forget_print(id, print, corrected);
  const Timestamp now = std::max(print.time, hot.newest);
  const bool moves = later.was_last && corrected.is_set() && clock_of(hot).is_open(now);
  for (WatchSlot& slot : book_.watches(hot)) {
    if (!slot.is_active(hot.day)) continue;
    count_waiting(hot, slot, -1);
    (void)undo_watch(slot, print, corrected, later, now);
    judge_apart_for_now(slot);
    watch_confirmation(slot);
    count_waiting(hot, slot, +1);
    update_triggers(hot, slot);
  }
  refresh_nearest(hot);
  if (!moves) return;
  Print now_last = later.prints[later.count - 1];
  now_last.time = now;
  now_last.again = true;
  if (corrected.micros >= hot.up || corrected.micros <= hot.down) touch(id, now_last, false);
}

/// Takes the print out of the last ones; what comes after it among them is what the tape still says. The last price is
/// then the one before it.
Engine::Impl::Later Engine::Impl::forget_print(SymbolId id, const Print& print, Price corrected) {
  SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  std::array<SeenPrint, kRecentPrints> newest_first;
  std::size_t count = 0, found = kRecentPrints;
  for (std::size_t i = 0; i < kRecentPrints; ++i) {
    const SeenPrint one = memory.prints.get((memory.print_at + kRecentPrints - i) % kRecentPrints);
    if (!one.price.is_set()) break;
    if (found == kRecentPrints && is_same_trade(one, print.seen())) found = i;
    newest_first[count++] = one;
  }
  Later later;
  const auto add = [&later](const SeenPrint& seen) { later.prints[later.count++] = print_of_seen(seen); };
  SeenPrint instead = found < count ? newest_first[found] : print.seen();
  instead.price = corrected;
  if (corrected.is_set()) {
    add(instead);
    later.prints[0].size = print.size;
  }
  for (std::size_t i = std::min(found, count); i-- > 0;) add(newest_first[i]);
  if (found == kRecentPrints) return later;
  later.was_last = found == 0;
  if (corrected.is_set()) {
    newest_first[found] = instead;
  } else {
    const auto at = newest_first.begin() + static_cast<std::ptrdiff_t>(found);
    std::move(at + 1, newest_first.end(), at);
    --count;
  }
  memory.prints = {};
  memory.print_at = 0;
  for (std::size_t i = count; i-- > 0;) {
    memory.print_at = static_cast<std::uint8_t>((memory.print_at + 1) % kRecentPrints);
    memory.prints.put(memory.print_at, newest_first[i]);
  }
  const bool was_all = count == 0 && is_same_trade(memory.opening, print.seen());
  if (count > 0) hot.last = memory.newest_print().price, hot.last_exchange = memory.newest_print().exchange;
  else if (was_all) hot.last = {}, memory.opening = {};
  return later;
}

void Engine::Impl::correct_extremes(SymbolId id, const Print& print, Price corrected) {
  SymbolMemory& memory = cold_of(id).memory;
  SeenPrint instead = print.seen();
  instead.price = corrected;
  if (drop_extreme(memory.highs, print.seen())) memory.high_floor = memory.highs.price[kExtremes - 1];
  if (drop_extreme(memory.lows, print.seen()))
    memory.low_ceiling = memory.lows.price[kExtremes - 1].is_set() ? memory.lows.price[kExtremes - 1] : Price{kNever};
  const bool in_session = clock_of(hot_of(id)).is_open(print.time);
  if (memory.closing.price.is_set() && is_same_trade(memory.closing, print.seen())) {
    memory.closing = corrected.is_set() ? instead : SeenPrint{};
    if (!corrected.is_set()) memory.closing_size = {};
  } else if (!in_session) {
    return;
  }
  if (memory.opening.price.is_set() && is_same_trade(memory.opening, print.seen()) && corrected.is_set())
    memory.opening.price = corrected;
  if (corrected.is_set()) move_high_low(id, instead);
}

/// True when the print had changed the watch.
bool Engine::Impl::undo_watch(WatchSlot& slot, const Print& print, Price corrected, const Later& later, Timestamp now) {
  std::array<Print, kPastMost + kRecentPrints + 1> since;
  std::array<SeenPrint, kPastMost> changes;
  std::size_t changed = 0, count = 0;
  const PastStands::Entry* found = nullptr;
  past_.each(slot.newest_past, [&](const PastStands::Entry& entry) {
    if (is_same_trade(entry.past.by, print.seen())) return found = &entry, false;
    changes[changed++] = entry.past.by;
    return true;
  });
  if (found == nullptr) return false;
  const WatchPast past = found->past;
  const std::uint32_t earlier = found->earlier;
  std::size_t next = 0;
  if (corrected.is_set()) since[count++] = later.prints[next++];
  const Timestamp remembered = next < later.count ? later.prints[next].time : kNoTime;
  while (changed-- > 0) {  // what changed it since then, as far as the last prints do not tell it
    if (changes[changed].time < remembered) since[count++] = print_of_seen(changes[changed]);
  }
  while (next < later.count) since[count++] = later.prints[next++];
  const WatchStand was = slot.memory;
  static_cast<WatchStand&>(slot.memory) = past.before;
  slot.newest_past = earlier;
  WatchStand replayed = past.before;
  const Timestamp open = clock_of(hot_of(slot.symbol)).session()->open;
  for (std::size_t i = 0; i < count; ++i) {
    const Step step = step_of(since[i], false);
    note_reached(replayed, slot.pivot_now, step, open);
    (void)advance(replayed, book_.levels(slot), book_.rules[slot.rules], step);
  }
  const bool stands = says_the_same(was, replayed);
  slot.memory.withdrawn =
      static_cast<std::uint16_t>(slot.memory.withdrawn + keep_what_stays(was, replayed, slot.memory.is_held()));
  const WatchStand after = replayed;
  mark(slot);
  if (!stands) {
    static_cast<WatchStand&>(slot.memory) = after;
    Print taken_back = print;
    taken_back.time = now;
    Notice notice = make_notice(slot, NoticeKind::corrected, taken_back);
    notice.price_before = past.price_before;
    notice.held = was.held;
    notice.count = static_cast<std::uint16_t>(was.counts[static_cast<std::size_t>(NoticeKind::corrected)] + 1);
    notice.volume = volume_at(slot, now);
    emit(std::move(notice));
  }
  static_cast<WatchStand&>(slot.memory) = past.before;
  replay_watch(slot, since, count, was);
  (void)keep_what_stays(was, slot.memory, slot.memory.is_held());
  if (!stands) ++slot.memory.counts[static_cast<std::size_t>(NoticeKind::corrected)];
  return true;
}

/// The same prints once more, now for good: their changes are remembered, and what they make that was not told is told.
void Engine::Impl::replay_watch(WatchSlot& slot, const std::array<Print, kPastMost + kRecentPrints + 1>& prints,
                                std::size_t count, const WatchStand& was) {
  for (std::size_t i = 0; i < count; ++i) {
    const WatchStand before = slot.memory;
    const Step step = step_of(prints[i], false);
    note_reached(slot.memory, slot.pivot_now, step, clock_of(hot_of(slot.symbol)).session()->open);
    SideEvents happened = advance(slot.memory, book_.levels(slot), book_.rules[slot.rules], step);
    if (is_change(before, slot.memory, happened)) remember_change(slot, before, prints[i]);
    int fresh = 0;
    for (int k = 0; k < happened.size; ++k) {
      const auto& one = happened.list[static_cast<std::size_t>(k)];
      if (is_new(was, one)) happened.list[static_cast<std::size_t>(fresh++)] = one;
    }
    happened.size = fresh;
    if (fresh > 0) tell_events(slot, prints[i], happened);
  }
}

}  // namespace brimwatch
