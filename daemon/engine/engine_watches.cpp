#include <algorithm>
#include <array>

#include "engine/engine_impl.h"
#include "engine/pivot_days.h"

namespace brimwatch {
namespace {

bool is_call(NoticeKind kind) { return is_pivot_crossing(kind) || kind == NoticeKind::volume_arrived; }

/// What a holding has to say of one's own price.
bool is_of_the_purse(NoticeKind kind) { return kind == NoticeKind::loss_limit || kind == NoticeKind::gain; }

/// Who has muted a watch still hears of the money in it, and of what was told in error.
bool is_never_muted(NoticeKind kind) {
  return is_of_the_purse(kind) || kind == NoticeKind::corrected || kind == NoticeKind::self_check;
}

bool is_in_range(Price price, const Levels& levels) { return price >= levels.pivot && price <= levels.range_top; }

}  // namespace

Step Engine::Impl::step_of(const Print& print, bool first_of_day) const {
  return {print.price, print.time, print.size, first_of_day, print.again, holds_back()};
}

void Engine::Impl::touch(SymbolId id, const Print& print, bool first_of_day) {
  SymbolHot& hot = hot_of(id);
  touched_.clear();
  const auto collect = [this](TriggerHeap heap, std::int64_t x) {
    while (heap.top_key() <= x) {
      touched_.push_back(heap.top());
      heap.update(heap.top(), kNever);
    }
  };
  collect(book_.up_heap(hot), print.price.micros);
  collect(book_.down_heap(hot), -print.price.micros);
  // One price may reach a watch both ways: its pivot, and a loss limit that lies over it.
  std::sort(touched_.begin(), touched_.end());
  touched_.erase(std::unique(touched_.begin(), touched_.end()), touched_.end());
  const Step step = step_of(print, first_of_day);
  for (const std::uint32_t watch : touched_) advance_watch(hot, book_.slots[hot.first + watch], print, step);
  refresh_nearest(hot);
}

void Engine::Impl::advance_watch(SymbolHot& hot, WatchSlot& slot, const Print& print, const Step& step) {
  count_waiting(hot, slot, -1);
  const WatchStand before = slot.memory;
  note_reached(slot.memory, slot.pivot_now, step, clock_of(hot).session()->open);
  if (print.price < slot.pivot_now) slot.memory.muted_under = false;
  const SideEvents happened = advance(slot.memory, book_.levels(slot), book_.rules[slot.rules], step);
  if (is_change(before, slot.memory, happened)) remember_change(slot, before, print);
  if (happened.size > 0) tell_events(slot, print, happened);
  if (slot.memory.held && !step.hold_back) release_held(slot, print);
  watch_confirmation(slot);
  update_triggers(hot, slot);
  count_waiting(hot, slot, +1);
  mark(slot);
}

void Engine::Impl::remember_change(WatchSlot& slot, const WatchStand& before, const Print& print) {
  slot.newest_past = past_.add({before, print.seen(), cold_of(slot.symbol).memory.before()}, slot.newest_past);
}

void Engine::Impl::tell_events(WatchSlot& slot, const Print& print, const SideEvents& happened) {
  const bool crossed = is_pivot_crossing(happened.list[0].kind);
  const VolumeView volume = volume_at(slot, print.time);
  if (crossed) {
    judge_apart_for_now(slot);
    slot.memory.weight_said = volume.weight;
    cold_of(slot.symbol).memory.judge_volume = {};  // it has not been judged with the others
  }
  for (int i = 0; i < happened.size; ++i) {
    const auto& one = happened.list[static_cast<std::size_t>(i)];
    if (!one.told) {
      ++counters_.not_told;
      continue;
    }
    Notice notice = make_notice(slot, one.kind, print);
    notice.side = one.side;
    notice.count = one.count;
    notice.last_today = one.last_today;
    notice.volume = volume;
    if (one.kind == NoticeKind::opened_over) notice.detail = seen_before(slot);
    if (notice.bought.is_set() && is_of_the_purse(one.kind)) notice.detail = bought_at(notice.bought);
    emit(std::move(notice));
  }
}

/// A crossing that was held back is told when the market has turned and the price is in the range.
void Engine::Impl::release_held(WatchSlot& slot, const Print& print) {
  WatchMemory& m = slot.memory;
  const bool sound = m.told && m.side == Side::inside && is_in_range(print.price, book_.levels(slot));
  m.release = !sound && m.side == Side::inside;
  if (!sound) return;
  m.held = false;
  auto& count = m.counts[static_cast<std::size_t>(NoticeKind::crossed)];
  count = std::max<std::uint16_t>(count, 1);
  ++m.withdrawn;  // the one in the journal has that count's id
  Notice notice = make_notice(slot, NoticeKind::crossed, print);
  notice.count = count;
  notice.volume = volume_at(slot, print.time);
  notice.detail = kHeldUntilNow;
  m.weight_said = notice.volume.weight;
  emit(std::move(notice));
}

// ---- confirmation by the clock ----------------------------------------------------------------------------------------

void Engine::Impl::watch_confirmation(WatchSlot& slot) {
  const Timestamp at = confirmed_at(slot.memory, book_.rules[slot.rules]);
  if (!at.is_set()) return;
  due_ = std::min(due_, at);
  if (slot.confirming) return;
  slot.confirming = true;
  confirming_.push_back(static_cast<std::uint32_t>(&slot - book_.slots.data()));
}

/// A price that has stayed where it was long enough has crossed then, and not at the next trade. In the order of time, so
/// that it is the same whoever says how late it is.
void Engine::Impl::confirm_due(Timestamp now) {
  due_ = kNoTime;
  for (;;) {
    std::size_t first = confirming_.size();
    Timestamp earliest = kNoTime;
    for (std::size_t i = 0; i < confirming_.size(); ++i) {
      WatchSlot& slot = book_.slots[confirming_[i]];
      const Timestamp at = confirmed_at(slot.memory, book_.rules[slot.rules]);
      const bool sooner =
          at < earliest || (at == earliest && first < confirming_.size() && confirming_[i] < confirming_[first]);
      if (!at.is_set() || sooner) earliest = at, first = i;
      if (!at.is_set()) break;
    }
    if (first == confirming_.size()) return;
    if (earliest > now) return void(due_ = earliest);
    WatchSlot& slot = book_.slots[confirming_[first]];
    slot.confirming = false;
    confirming_[first] = confirming_.back();
    confirming_.pop_back();
    if (earliest.is_set()) confirm_one(slot, earliest);
  }
}

/// What the watch stands by: another machine may have heard it, and this one not, which took the watch over.
SeenPrint Engine::Impl::newest_of(const WatchSlot& slot) const {
  const SymbolHot& hot = hot_of(slot.symbol);
  SeenPrint newest = cold_of(slot.symbol).memory.newest_print();
  newest.price = hot.last;
  past_.each(slot.newest_past, [&](const PastStands::Entry& entry) {
    if (entry.past.by.time > hot.newest) newest = entry.past.by;
    return false;
  });
  return newest;
}

/// False where the day does not allow it: then the next trade decides.
bool Engine::Impl::confirm_one(WatchSlot& slot, Timestamp at) {
  SymbolHot& hot = hot_of(slot.symbol);
  if (clock_of(hot).day() == Date{}) move_clock(hot.clock, at);
  const DayClock& clock = clock_of(hot);
  const bool is_today = hot.day == clock.day() && clock.session() != nullptr && clock.is_open(at);
  if (is_today && hot.is_stale) catch_up(slot.symbol);
  const SeenPrint last = newest_of(slot);
  if (!is_today || !slot.is_active(hot.day) || last.price < slot.pivot_now || slot.memory.silent) return false;
  Print print;
  print.price = last.price;
  print.time = at;
  print.trade = last.trade;
  print.exchange = last.exchange;
  print.again = true;
  mark(slot.symbol);
  advance_watch(hot, slot, print, step_of(print, false));
  refresh_nearest(hot);
  return true;
}

// ---- triggers
// ---------------------------------------------------------------------------------------------------------

/// A watch that is new in mid-session, or a daemon that is: what is over the range now may have been inside it before.
const char* Engine::Impl::seen_before(const WatchSlot& slot) const {
  const SymbolMemory& memory = cold_of(slot.symbol).memory;
  if (memory.day_low().is_set() && memory.day_low() <= book_.levels(slot).range_top) return kEarlierInside;
  return memory.missed_minutes > 0 ? kEarlierUnseen : "";
}

void Engine::Impl::rebuild_triggers(SymbolId id, bool follows) {
  SymbolHot& hot = hot_of(id);
  SymbolCold& cold = cold_of(id);
  for (std::uint32_t g = 0; g < cold.group_count; ++g) {
    JudgeGroup& group = book_.groups[cold.first_group + g];
    group.await_heavy = group.await_light = 0;
  }
  hot.waiting = 0;
  for (std::uint32_t i = 0; i < hot.count; ++i) {
    WatchSlot& slot = book_.slots[hot.first + i];
    if (slot.memory.day != hot.day) {
      const bool is_news = begin_pivot_day(slot.memory, hot.day, follows);
      brimwatch::begin_day(slot.memory, hot.day, book_.rules[slot.rules]);
      if (is_news && slot.memory.side != Side::unknown) mark(slot);
      slot.newest_past = 0;  // nothing of yesterday can be taken back, for the ids of trades begin anew
    }
    if (slot.memory.held) slot.memory.release = !holds_back();
    judge_apart_for_now(slot);
    watch_confirmation(slot);
    const Triggers t = slot.is_active(hot.day) ? triggers_of(slot.memory, book_.levels(slot)) : Triggers{};
    book_.up[hot.first + i] = {t.up, i};
    book_.down[hot.first + i] = {t.down == Triggers{}.down ? kNever : -t.down, i};
    count_waiting(hot, slot, +1);
  }
  book_.up_heap(hot).build();
  book_.down_heap(hot).build();
  refresh_nearest(hot);
}

void Engine::Impl::update_triggers(SymbolHot& hot, WatchSlot& slot) {
  const auto watch = static_cast<std::uint32_t>(&slot - &book_.slots[hot.first]);
  const Triggers t = slot.is_active(hot.day) ? triggers_of(slot.memory, book_.levels(slot)) : Triggers{};
  book_.up_heap(hot).update(watch, t.up);
  book_.down_heap(hot).update(watch, t.down == Triggers{}.down ? kNever : -t.down);
}

void Engine::Impl::refresh_nearest(SymbolHot& hot) {
  hot.up = book_.up_heap(hot).top_key();
  hot.down = -book_.down_heap(hot).top_key();
}

// ---- notices
// ----------------------------------------------------------------------------------------------------------

/// A call to buy in a falling market, and whatever follows a crossing that was held back; but what is bought is bought.
bool Engine::Impl::is_held_back(const WatchSlot& slot, NoticeKind kind) const {
  if (slot.memory.is_held() && is_of_the_purse(kind)) return false;
  if (holds_back() && is_call(kind)) return true;
  const bool follows = is_of_a_price(kind) || kind == NoticeKind::volume_arrived || kind == NoticeKind::volume_faded ||
                       kind == NoticeKind::corrected;
  return slot.memory.held && follows;
}

Notice Engine::Impl::make_notice(const WatchSlot& slot, NoticeKind kind, const Print& print) const {
  const SymbolHot& hot = book_.hot[slot.symbol];
  const SymbolMemory& memory = book_.cold[slot.symbol].memory;
  Notice notice;
  notice.kind = kind;
  notice.side = slot.memory.side;
  notice.trend = options_.trend;
  notice.marked = options_.trend == Trend::down && options_.when_down == WhenDown::mark;
  notice.held = is_held_back(slot, kind);
  notice.bought = slot.memory.bought;
  notice.muted = slot.memory.is_muted(print.time) && !(slot.memory.is_held() && is_never_muted(kind));
  notice.doubtful = slot.memory.doubtful;
  notice.in_hole = memory.in_hole && is_pivot_crossing(kind);
  notice.withdrawn = slot.memory.withdrawn;
  notice.symbol = slot.symbol;
  notice.watch = slot.list_index;
  notice.day = hot.day;
  notice.time = print.time;
  if (print.received.is_set()) notice.age = print.received - print.time;
  else if (lead_known_) notice.age = -lead_;
  notice.delayed = notice.age > options_.late_after;
  if (clock_of(hot).session() != nullptr) {
    notice.to_close = clock_of(hot).elapsed(kNoTime) - clock_of(hot).elapsed(print.time);
  }
  notice.price = print.price;
  notice.price_before = memory.before();
  const Levels levels = book_.levels(slot);
  notice.pivot = levels.pivot;
  notice.range_top = levels.range_top;
  notice.loss_limit = levels.loss;
  notice.trade_id = print.trade;
  return notice;
}

std::uint16_t Engine::Impl::count_one(WatchSlot& slot, NoticeKind kind) {
  mark(slot);
  return ++slot.memory.counts[static_cast<std::size_t>(kind)];
}

void Engine::Impl::emit(Notice&& notice) {
  ++(notice.held ? counters_.held_back : counters_.notices);
  sink_->on_notice(std::move(notice));
}

}  // namespace brimwatch
