// What people say back, as far as the engine hears it.
#include <algorithm>
#include <utility>

#include "engine/engine_impl.h"

namespace brimwatch {

WatchSlot* Engine::Impl::slot_of(std::string_view symbol, Price pivot) {
  const SymbolId id = symbols_.find(symbol);
  if (!is_watched(id)) return nullptr;
  const auto watches = book_.watches(hot_of(id));
  const auto it = std::lower_bound(watches.begin(), watches.end(), pivot,
                                   [](const WatchSlot& slot, Price wanted) { return slot.pivot < wanted; });
  return it == watches.end() || it->pivot != pivot ? nullptr : &*it;
}

/// Of a day that has not begun, or under a list that is new, the next tick makes the triggers.
void Engine::Impl::begin_anew(WatchSlot& slot) {
  SymbolHot& hot = hot_of(slot.symbol);
  mark(slot);
  if (hot.is_stale || slot.memory.day != hot.day) return void(hot.is_stale = true);
  update_triggers(hot, slot);
  refresh_nearest(hot);
}

void Engine::Impl::set_holdings(std::vector<HeldWatch> held) {
  for (const HeldWatch& one : held_) {
    const auto same = [&](const HeldWatch& other) { return other.symbol == one.symbol && other.pivot == one.pivot; };
    WatchSlot* const slot = slot_of(one.symbol, one.pivot);
    if (slot != nullptr && std::none_of(held.begin(), held.end(), same)) let_go(*slot);
  }
  held_ = std::move(held);
  hold_again();
}

void Engine::Impl::hold_again() {
  for (const HeldWatch& one : held_) {
    if (WatchSlot* const slot = slot_of(one.symbol, one.pivot)) hold(*slot, one);
  }
}

/// Bought just now, or in the terms of a split; whoever holds the stock by it must hear what it has to say.
void Engine::Impl::hold(WatchSlot& slot, const HeldWatch& held) {
  WatchMemory& m = slot.memory;
  if (m.bought == held.bought && slot.pivot_now == held.pivot_now) return;
  slot.pivot_now = held.pivot_now;
  if (!m.is_held()) {
    m.loss_pending = true;
    m.gains_told = 0;
    if (std::exchange(m.silent, false)) hot_of(slot.symbol).is_stale = true;
  }
  m.bought = held.bought;
  begin_anew(slot);
}

/// What is left is the watch: its loss limit counts while a crossing of it is followed.
void Engine::Impl::let_go(WatchSlot& slot) {
  WatchMemory& m = slot.memory;
  slot.pivot_now = slot.pivot;
  if (!m.is_held()) return;
  m.bought = {};
  m.gains_told = 0;
  m.loss_pending = m.following;
  begin_anew(slot);
}

void Engine::set_holdings(std::vector<HeldWatch> held) { impl_->set_holdings(std::move(held)); }

const std::vector<HeldWatch>& Engine::holdings() const { return impl_->held_; }

bool Engine::mute(std::string_view symbol, Price pivot, Timestamp until, bool under_pivot) {
  WatchSlot* const slot = impl_->slot_of(symbol, pivot);
  if (slot == nullptr) return false;
  slot->memory.muted_until = until;
  slot->memory.muted_under = under_pivot;
  impl_->begin_anew(*slot);
  return true;
}

}  // namespace brimwatch
