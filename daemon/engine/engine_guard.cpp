#include "engine/engine_impl.h"

namespace brimwatch {

/// Two ticks are never far: a cheap stock's bid and ask may lie further apart than the bound. Doubles do: the bound is a
/// rule of thumb, and the same on every machine; no pivot is compared here.
bool Engine::Impl::is_far(SymbolId id, Price price, Price from, std::uint32_t bound) const {
  const std::int64_t distance = price > from ? price.micros - from.micros : from.micros - price.micros;
  if (distance <= cold_of(id).guard_least.micros) return false;
  return static_cast<double>(distance) * 1e8 > static_cast<double>(from.micros) * bound;
}

void Engine::Impl::offer(SymbolId id, const Print& print) {
  SymbolHot& hot = hot_of(id);
  if (hot.holding) [[unlikely]] {
    if (settle_held(id, print)) return;
  }
  const Price from = hot.last.is_set() ? hot.last : cold_of(id).memory.previous_close;
  const bool trusted = print.auction && hot.trusts_auctions;
  if (hot.bad_print != 0 && from.is_set() && !trusted && is_far(id, print.price, from, hot.bad_print)) [[unlikely]]
    return hold(id, print);
  accept(id, print);
}

void Engine::Impl::hold(SymbolId id, const Print& print) {
  if (hot_of(id).holding) drop_held(id);  // the newest is the one that waits
  SymbolMemory& memory = cold_of(id).memory;
  hot_of(id).holding = true;
  memory.held = print.seen();
  memory.held_received = print.received;
  memory.held_size = print.size;
}

/// Nothing has borne it out.
void Engine::Impl::drop_held(SymbolId id) {
  hot_of(id).holding = false;
  cold_of(id).memory.held = {};
  ++counters_.held_as_bad;
}

/// True when the print is dealt with. One that does not agree leaves the held price waiting for its time: bad prints come
/// alone, while a tape that has moved says so again. What agrees later, with others between, is held anew.
bool Engine::Impl::settle_held(SymbolId id, const Print& print) {
  const SymbolHot& hot = hot_of(id);
  const SymbolMemory& memory = cold_of(id).memory;
  if (!is_far(id, print.price, memory.held.price, hot.bad_print / 2)) {
    if (print.again) return true;
    if (print.time - memory.held.time > kHeldFor && memory.newest_print().time > memory.held.time)
      return drop_held(id), false;
    confirm_held(id, print.time);
    accept(id, print);
    return true;
  }
  if (print.time - memory.held.time > kHeldFor) drop_held(id);
  return false;
}

/// The tape agrees now. What has waited too long has nothing to say of its own time any more.
void Engine::Impl::confirm_held(SymbolId id, Timestamp now) {
  SymbolMemory& memory = cold_of(id).memory;
  Print held;
  held.price = memory.held.price;
  held.time = memory.held.time;
  held.received = memory.held_received;
  held.size = memory.held_size;
  held.trade = memory.held.trade;
  held.exchange = memory.held.exchange;
  hot_of(id).holding = false;
  memory.held = {};
  ++counters_.confirmed;
  if (now - held.time <= kHeldFor) accept(id, held);
}

/// Quotes move nothing; but where bid and ask lie round a held price, the market is there.
void Engine::Impl::take_quote(const Tick& tick) {
  if (!is_watched(tick.symbol) || !hot_of(tick.symbol).holding) return;
  const SymbolHot& hot = hot_of(tick.symbol);
  if (clock_of(hot).day() == Date{}) move_clock(hot.clock, tick.time);
  if (hot.day != clock_of(hot).day() || clock_of(hot).session() == nullptr) return;
  if (hot.is_stale) catch_up(tick.symbol);
  const SymbolMemory& memory = cold_of(tick.symbol).memory;
  const bool is_one = tick.bid > Price{} && tick.ask >= tick.bid && tick.time >= memory.held.time;
  if (!is_one || !clock_of(hot).holds(tick.time) || !clock_of(hot).is_open(tick.time)) return;
  const auto agrees = [&](Price price) { return !is_far(tick.symbol, price, memory.held.price, hot.bad_print / 2); };
  if (!agrees(tick.bid) || !agrees(tick.ask)) return;
  mark(tick.symbol);
  confirm_held(tick.symbol, tick.time);
}

}  // namespace brimwatch
