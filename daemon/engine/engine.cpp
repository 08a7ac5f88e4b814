#include "engine/engine.h"

#include <algorithm>
#include <set>

#include "engine/engine_impl.h"

namespace brimwatch {
namespace {

/// Fetches what the tick after next will need while this one is worked on.
void prefetch(const Book& book, const Tick& tick) {
  if (tick.symbol >= book.hot.size()) return;
  __builtin_prefetch(&book.hot[tick.symbol]);
  const char* cold = reinterpret_cast<const char*>(&book.cold[tick.symbol]);
  __builtin_prefetch(cold);
  __builtin_prefetch(cold + 64);
  __builtin_prefetch(cold + 128);
  __builtin_prefetch(cold + 192);
  __builtin_prefetch(&book.volume[tick.symbol]);
}

/// Of symbols that are on the list from now on, when anything was heard before: they were not listened to until then.
void note_absence(const std::vector<bool>& was_listed, Timestamp now, Book& book) {
  for (SymbolId id = 0; id < book.hot.size(); ++id) {
    const bool was = id < was_listed.size() && was_listed[id];
    const bool is = book.hot[id].count > 0;
    SymbolCold& cold = book.cold[id];
    if (was && !is) cold.absent_from = now;
    if (is && !was) cold.absent_to = now;
  }
}

}  // namespace

Engine::Engine(EngineOptions options, SymbolTable& symbols, PlanSource plans)
    : impl_(std::make_unique<Impl>(options, symbols, std::move(plans))) {}

Engine::~Engine() = default;

PreparedWatches::PreparedWatches(const WatchList& watches) : draft_(std::make_unique<BookDraft>(lay_out(watches))) {}
PreparedWatches::~PreparedWatches() = default;
PreparedWatches::PreparedWatches(PreparedWatches&&) noexcept = default;
PreparedWatches& PreparedWatches::operator=(PreparedWatches&&) noexcept = default;

void Engine::set_watches(const WatchList& watches, const std::vector<std::shared_ptr<const Calendar>>& calendars) {
  PreparedWatches prepared(watches);
  std::vector<std::shared_ptr<const Calendar>> by_symbol;
  for (const BookDraft::Symbol& symbol : prepared.draft_->symbols) by_symbol.push_back(calendars[symbol.leader]);
  set_watches(std::move(prepared), watches, by_symbol);
}

void Engine::set_watches(PreparedWatches&& prepared, const WatchList& watches,
                         const std::vector<std::shared_ptr<const Calendar>>& calendars) {
  std::vector<SymbolId> ids;
  for (const std::string& symbol : watches.symbols()) ids.push_back(impl_->symbols_.intern(symbol));
  const Timestamp now = impl_->heard_until();
  const std::vector<std::uint8_t> clocks = impl_->choose_clocks(calendars);
  Book& book = impl_->book_;
  std::vector<bool> was_listed;
  for (const SymbolHot& hot : book.hot) was_listed.push_back(hot.count > 0);
  impl_->see_off(*prepared.draft_, ids);
  put_in_force(std::move(*prepared.draft_), ids, clocks, book);
  if (now.is_set()) note_absence(was_listed, now, book);
  impl_->past_.make_room(watches.size());
  impl_->ids_.make_room(watches.symbols().size());
  impl_->confirming_.clear();
  impl_->confirming_.reserve(watches.size());
  impl_->due_ = kNoTime;
  std::uint32_t most = 0;
  for (const SymbolHot& hot : book.hot) most = std::max(most, hot.count);
  impl_->touched_.reserve(most);
  impl_->dirty_symbols_.reserve(book.hot.size());
  impl_->dirty_slots_.clear();
  impl_->dirty_slots_.reserve(watches.size());
  for (std::uint32_t i = 0; i < book.slots.size(); ++i) {
    if (book.slots[i].dirty) impl_->dirty_slots_.push_back(i);
  }
  if (impl_->slots_of_round_ > 0) impl_->slots_of_round_ = impl_->dirty_slots_.size();  // whichever they are now
  for (WatchSlot& slot : book.slots) impl_->watch_confirmation(slot);                   // what waits goes on waiting
  impl_->take_back_departed();
  impl_->hold_again();
}

/// A calendar that was read anew is another one, and what it says of today may have changed: its clock is a new one,
/// which has come as far as the old one.
DayClock Engine::Impl::clock_for(const std::shared_ptr<const Calendar>& calendar, const std::vector<DayClock>& old,
                                 const std::vector<Timestamp>& old_known, Timestamp& known) {
  DayClock fresh(calendar);
  for (std::size_t i = 0; i < old.size(); ++i) {
    if (old[i].shared_calendar() == calendar) return known = old_known[i], old[i];
    if (old[i].calendar().mic() != calendar->mic() || old[i].day() == Date{}) continue;
    known = std::max(old_known[i], old[i].reached());
    while (fresh.step(old[i].begin()) != DayClock::Change::none) {
    }
  }
  return fresh;
}

std::vector<std::uint8_t> Engine::Impl::choose_clocks(const std::vector<std::shared_ptr<const Calendar>>& calendars) {
  const std::vector<DayClock> old = std::exchange(clocks_, {});
  const std::vector<Timestamp> old_known = std::exchange(known_, {});
  std::vector<std::uint8_t> chosen;
  chosen.reserve(calendars.size());
  for (const auto& calendar : calendars) {
    const auto at = std::find_if(clocks_.begin(), clocks_.end(),
                                 [&](const DayClock& one) { return one.shared_calendar() == calendar; });
    chosen.push_back(static_cast<std::uint8_t>(at - clocks_.begin()));
    if (at != clocks_.end()) continue;
    Timestamp known;
    clocks_.push_back(clock_for(calendar, old, old_known, known));
    known_.push_back(known);
  }
  return chosen;
}

void Engine::set_market(Trend trend, WhenDown when_down) { impl_->set_market(trend, when_down); }

/// What was held back is told when the market turns and the price is in the range: at its next price there.
void Engine::Impl::set_market(Trend trend, WhenDown when_down) {
  const bool held = holds_back();
  options_.trend = trend;
  options_.when_down = when_down;
  if (held == holds_back()) return;
  for (WatchSlot& slot : book_.slots) {
    if (!slot.memory.held) continue;
    slot.memory.release = !holds_back();
    mark(slot);
    SymbolHot& hot = hot_of(slot.symbol);
    if (hot.is_stale || hot.day == Date{}) continue;
    update_triggers(hot, slot);
    refresh_nearest(hot);
  }
}

void Engine::on_ticks(std::span<const Tick> ticks, NoticeSink& sink) {
  constexpr std::size_t kAhead = 4, kTicksAhead = 16;
  impl_->sink_ = &sink;
  for (std::size_t i = 0; i < ticks.size(); ++i) {
    if (i + kTicksAhead < ticks.size()) __builtin_prefetch(&ticks[i + kTicksAhead]);
    if (i + kAhead < ticks.size()) {
      const Tick& next = ticks[i + kAhead];
      prefetch(impl_->book_, next);
      if (next.id != 0) impl_->ids_.prefetch(RecentIds::key_of(next.symbol, id_on_exchange(next)));
    }
    impl_->take(ticks[i]);
  }
  impl_->sink_ = nullptr;
}

void Engine::on_time(Timestamp now, NoticeSink& sink) {
  impl_->sink_ = &sink;
  impl_->told_time_ = std::max(impl_->told_time_, now);
  // A trade of that moment may still be on its way.
  if (now - kLateMost >= impl_->due_) impl_->confirm_due(now - kLateMost);
  const auto clocks = static_cast<std::uint8_t>(impl_->clocks_.size());
  for (std::uint8_t clock = 0; clock < clocks; ++clock) {
    const DayClock& c = impl_->clocks_[clock];
    if (!c.holds(now) && !c.is_past(now)) impl_->move_clock(clock, now);
  }
  impl_->sink_ = nullptr;
}

void Engine::take_changed(std::vector<WatchState>& watches, std::vector<SymbolState>& symbols) {
  for (const std::uint32_t at : impl_->dirty_slots_) {
    watches.push_back(impl_->state_of(impl_->book_.slots[at]));
    impl_->book_.slots[at].dirty = false;
  }
  for (const SymbolId id : impl_->dirty_symbols_) {
    symbols.push_back(impl_->state_of(id));
    impl_->hot_of(id).dirty = false;
  }
  impl_->dirty_slots_.clear();
  impl_->dirty_symbols_.clear();
  impl_->slots_of_round_ = impl_->symbols_of_round_ = 0;
  impl_->departed_.take_changed(watches);
}

std::size_t Engine::changed() const { return impl_->dirty_slots_.size() + impl_->dirty_symbols_.size(); }

void Engine::add_changed_of(SymbolId symbol, std::vector<WatchState>& watches, std::vector<SymbolState>& symbols) const {
  const Book& book = impl_->book_;
  if (symbol >= book.hot.size()) return;
  const SymbolHot& hot = impl_->hot_of(symbol);
  for (const WatchSlot& slot : book.watches(hot)) {
    if (slot.dirty) watches.push_back(impl_->state_of(slot));
  }
  if (hot.dirty) symbols.push_back(impl_->state_of(symbol));
}

/// A symbol goes with its watches, a watch with its symbol: what stands in the journal of a stock is of one moment.
bool Engine::take_part_of_changed(std::size_t most, std::vector<WatchState>& watches, std::vector<SymbolState>& symbols) {
  if (impl_->slots_of_round_ + impl_->symbols_of_round_ == 0) {
    impl_->slots_of_round_ = impl_->dirty_slots_.size();
    impl_->symbols_of_round_ = impl_->dirty_symbols_.size();
  }
  const auto slots = static_cast<std::ptrdiff_t>(std::min(most, impl_->slots_of_round_));
  const auto ids = static_cast<std::ptrdiff_t>(std::min(most - slots, impl_->symbols_of_round_));
  std::set<SymbolId> part(impl_->dirty_symbols_.begin(), impl_->dirty_symbols_.begin() + ids);
  for (auto at = impl_->dirty_slots_.begin(); at != impl_->dirty_slots_.begin() + slots; ++at)
    part.insert(impl_->book_.slots[*at].symbol);
  for (const SymbolId id : part) add_changed_of(id, watches, symbols);
  impl_->forget_changed(slots, ids);
  if (impl_->slots_of_round_ + impl_->symbols_of_round_ > 0) return false;
  impl_->departed_.take_changed(watches);
  return true;
}

std::vector<WatchState> Engine::watch_states() const {
  std::vector<WatchState> out;
  out.reserve(impl_->book_.slots.size());
  for (const WatchSlot& slot : impl_->book_.slots) out.push_back(impl_->state_of(slot));
  impl_->departed_.add_all(out);
  return out;
}

std::vector<SymbolState> Engine::symbol_states() const {
  std::vector<SymbolState> out;
  for (SymbolId id = 0; id < impl_->book_.hot.size(); ++id) {
    if (impl_->hot_of(id).count > 0 && impl_->hot_of(id).day != Date{}) out.push_back(impl_->state_of(id));
  }
  return out;
}

void Engine::restore(std::span<const WatchState> watches, std::span<const SymbolState> symbols) {
  for (const SymbolState& state : symbols) impl_->restore_symbol(state);
  for (const WatchState& state : watches) impl_->restore_watch(state);
  impl_->restored_ = impl_->restored_ || !symbols.empty();
}

WatchView Engine::view(std::uint32_t watch, Timestamp now) const {
  WatchView view;
  view.watch = watch;
  const Book& book = impl_->book_;
  if (watch >= book.slot_of.size()) return view;
  const WatchSlot& slot = book.slots[book.slot_of[watch]];
  const SymbolHot& hot = book.hot[slot.symbol];
  view.side = slot.memory.side;
  view.armed = slot.memory.armed;
  view.last = hot.last.is_set() ? hot.last : book.cold[slot.symbol].memory.previous_close;
  view.day_high = book.cold[slot.symbol].memory.day_high();
  view.muted_until = slot.memory.muted_until;
  view.muted_under = slot.memory.muted_under;
  view.bought = slot.memory.bought;
  view.pivot_now = slot.pivot_now;
  view.loss_limit = book.levels(slot).loss;
  if (hot.holding) view.held = book.cold[slot.symbol].memory.held.price;
  if (slot.memory.day == hot.day) {
    view.crossings = static_cast<std::uint16_t>(slot.memory.count_of(NoticeKind::crossed) +
                                                slot.memory.count_of(NoticeKind::opened_over));
    view.silent = slot.memory.silent;
    view.doubtful = slot.memory.doubtful;
  }
  view.halted = book.cold[slot.symbol].memory.halted_since.is_set();
  view.last_time = hot.newest;
  const DayClock& clock = impl_->clock_of(hot);
  if (hot.day != clock.day() || clock.session() == nullptr) return view;
  // After a new list the plans are made at the symbol's next tick; until then, one is made for the asking.
  if (!hot.is_stale) view.volume = impl_->volume_at(slot, now);
  else view.volume = impl_->volume_by(slot, impl_->plan_for(slot.symbol, slot.list_index, *clock.session()), now);
  return view;
}

const Calendar* Engine::calendar_of(SymbolId symbol) const {
  const Book& book = impl_->book_;
  if (symbol >= book.hot.size() || book.hot[symbol].count == 0) return nullptr;
  return &impl_->clock_of(book.hot[symbol]).calendar();
}

EngineCounters Engine::counters() const {
  EngineCounters counters = impl_->counters_;
  counters.ids_forgotten = impl_->ids_.forgotten();
  return counters;
}

}  // namespace brimwatch
