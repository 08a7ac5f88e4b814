#include <algorithm>

#include "engine/engine_impl.h"

namespace brimwatch {

void Engine::Impl::mark_first(SymbolId id) {
  hot_of(id).dirty = true;
  dirty_symbols_.push_back(id);
}

void Engine::Impl::mark(WatchSlot& slot) {
  if (slot.dirty) return;
  slot.dirty = true;
  dirty_slots_.push_back(static_cast<std::uint32_t>(&slot - book_.slots.data()));
}

/// The first so many of each; what stands in the other list as well goes once more.
void Engine::Impl::forget_changed(std::ptrdiff_t slots, std::ptrdiff_t symbols) {
  for (auto at = dirty_slots_.begin(); at != dirty_slots_.begin() + slots; ++at) book_.slots[*at].dirty = false;
  for (auto at = dirty_symbols_.begin(); at != dirty_symbols_.begin() + symbols; ++at) hot_of(*at).dirty = false;
  dirty_slots_.erase(dirty_slots_.begin(), dirty_slots_.begin() + slots);
  dirty_symbols_.erase(dirty_symbols_.begin(), dirty_symbols_.begin() + symbols);
  slots_of_round_ -= static_cast<std::size_t>(slots);
  symbols_of_round_ -= static_cast<std::size_t>(symbols);
}

WatchState Engine::Impl::state_of(const WatchSlot& slot) const {
  WatchState state;
  static_cast<WatchMemory&>(state) = slot.memory;
  state.symbol = symbols_.name(slot.symbol);
  state.pivot = slot.pivot;
  std::vector<WatchPast> past;
  past_.each(slot.newest_past, [&](const PastStands::Entry& entry) { return past.push_back(entry.past), true; });
  state.past = pack(past);
  return state;
}

SymbolState Engine::Impl::state_of(SymbolId id) const {
  const SymbolHot& hot = hot_of(id);
  const DayVolume volume = volume_of(id).settled();
  SymbolState state;
  static_cast<SymbolMemory&>(state) = cold_of(id).memory;
  state.symbol = symbols_.name(id);
  state.day = hot.day;
  state.last = hot.last;
  state.last_time = hot.newest;
  state.last_exchange = hot.last_exchange;
  state.heard_by = hot.feed;
  state.so_far = volume.so_far;
  state.minute = volume.minute;
  state.quarter_volume = volume.quarters;
  return state;
}

void Engine::Impl::restore_symbol(const SymbolState& state) {
  const SymbolId id = symbols_.find(state.symbol);
  if (!is_watched(id)) return;
  SymbolHot& hot = hot_of(id);
  SymbolCold& cold = cold_of(id);
  cold.memory = state;
  cold.memory.all_kept_until = {};  // said of what is written next, by whoever writes it
  hot.day = state.day;
  hot.last = state.last;
  hot.newest = state.last_time;
  hot.last_exchange = state.last_exchange;
  hot.feed = state.heard_by;
  hot.holding = state.held.price.is_set();
  hot.has_halts = state.halted_for != 0 || state.halted_since.is_set() || state.resuming;
  for (const std::uint64_t key : state.recent_trades) {
    if (key != 0) (void)ids_.is_known(RecentIds::key_of(id, key), state.last_time);
  }
  hot.is_stale = true;
  if (state.opening_seen) opening_heard_ = std::max(opening_heard_, state.day);
  const Session* const session = clock_of(hot).calendar().on(state.day);
  const Timestamp reached = state.ended && session != nullptr ? session->close + kDayEndAfter : state.last_time;
  known_[hot.clock] = std::max(known_[hot.clock], reached);
  DayVolume volume;
  volume.so_far = state.so_far;
  volume.minute = state.minute;
  volume.quarters = state.quarter_volume;
  volume_of(id) = volume;
}

/// Those that the next list has not. Both are in the order of pivots.
void Engine::Impl::see_off(const BookDraft& next, std::span<const SymbolId> ids) {
  std::vector<std::span<const WatchSlot>> stay(book_.hot.size());
  for (std::size_t number = 0; number < ids.size(); ++number) {
    const BookDraft::Symbol& symbol = next.symbols[number];
    if (ids[number] < stay.size()) stay[ids[number]] = std::span(next.book.slots).subspan(symbol.first, symbol.count);
  }
  for (SymbolId id = 0; id < stay.size(); ++id) {
    auto there = stay[id].begin();
    for (const WatchSlot& slot : book_.watches(hot_of(id))) {
      while (there != stay[id].end() && there->pivot < slot.pivot) ++there;
      if (there == stay[id].end() || there->pivot != slot.pivot) departed_.leave(state_of(slot), slot.dirty);
    }
  }
}

/// On the day on which they left they go on; on a later one they begin anew. Either way the journal is to hear of it.
void Engine::Impl::take_back_departed() {
  Date today;
  for (const SymbolHot& hot : book_.hot) today = std::max(today, hot.day);
  const auto is_listed = [this](const WatchState& one) { return slot_of(one.symbol, one.pivot) != nullptr; };
  for (const WatchState& state : departed_.come_back(is_listed)) {
    if (state.day >= today) restore_watch(state);
    mark(*slot_of(state.symbol, state.pivot));
  }
}

void Engine::Impl::restore_watch(const WatchState& state) {
  WatchSlot* const it = slot_of(state.symbol, state.pivot);
  if (it == nullptr) return departed_.leave(state, false);
  const SymbolId id = it->symbol;
  it->memory = state;
  it->newest_past = 0;
  const std::vector<WatchPast> past = unpack(state.past);
  for (auto one = past.rbegin(); one != past.rend(); ++one) it->newest_past = past_.add(*one, it->newest_past);
  hot_of(id).is_stale = true;
  const auto held = std::find_if(held_.begin(), held_.end(), [&](const HeldWatch& one) {
    return one.symbol == state.symbol && one.pivot == state.pivot;
  });
  if (held != held_.end()) hold(*it, *held);
  else let_go(*it);
  watch_confirmation(*it);
}

}  // namespace brimwatch
