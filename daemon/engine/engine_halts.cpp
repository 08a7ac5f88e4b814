#include <algorithm>
#include <cstdlib>

#include "engine/engine_impl.h"

namespace brimwatch {
namespace {

constexpr Nanos kResumeAfter = 10 * kSecond;  ///< a trade this long into a halt ends it: the feed has not said so
constexpr char kOffExchange = 'D';            ///< a trade reported from elsewhere does not say that the exchange trades

/// Near or above what the watch waits for: within five percent under the pivot, or under the loss limit of a stock that
/// may be held.
bool is_near(const WatchMemory& m, const Levels& levels, Price price) {
  const Price least = m.is_held() ? Price{} : m.loss_pending ? levels.loss : levels.pivot;
  return !price.is_set() || price.micros / 95 >= least.micros / 100;
}

}  // namespace

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
      return end_halt(tick.symbol, tick.time);
    case TradingStatus::halted:
    case TradingStatus::paused:
    case TradingStatus::quotation:
      return halt(tick.symbol, print);
  }
}

/// One that follows another before a trade has come is the same halt to whoever was told of it.
void Engine::Impl::halt(SymbolId id, const Print& print) {
  SymbolMemory& memory = cold_of(id).memory;
  if (memory.halted_since.is_set()) return;
  memory.halted_since = print.time;
  hot_of(id).has_halts = true;
  mark(id);
  if (std::exchange(memory.resuming, false)) return;
  memory.before_halt = hot_of(id).last.is_set() ? hot_of(id).last : memory.previous_close;
  tell_once(id, NoticeKind::halted, print);
}

/// The clock goes on; that the stock trades again is told when it does.
void Engine::Impl::end_halt(SymbolId id, Timestamp time) {
  SymbolMemory& memory = cold_of(id).memory;
  if (!memory.halted_since.is_set()) return;
  const DayClock& clock = clock_of(hot_of(id));
  memory.halted_for += std::max<Nanos>(0, clock.elapsed(time) - clock.elapsed(memory.halted_since));
  memory.halted_since = {};
  memory.resuming = true;
  mark(id);
}

void Engine::Impl::trade_again(SymbolId id, const Print& print) {
  SymbolMemory& memory = cold_of(id).memory;
  if (print.exchange == kOffExchange) return;
  if (memory.halted_since.is_set() && print.time - memory.halted_since >= kResumeAfter) end_halt(id, print.time);
  if (!std::exchange(memory.resuming, false) || !std::exchange(memory.halt_told, false)) return;
  tell_once(id, NoticeKind::resumed, print);
}

/// Once a symbol, by the watch whose pivot is nearest of those that want to know.
void Engine::Impl::tell_once(SymbolId id, NoticeKind kind, const Print& print) {
  const SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  const Price at = memory.before_halt;
  WatchSlot* nearest = nullptr;
  for (WatchSlot& slot : book_.watches(hot)) {
    const Halts wanted = book_.rules[slot.rules].halts;
    const bool near = wanted == Halts::all || is_near(slot.memory, book_.levels(slot), at);
    if (!slot.is_active(hot.day) || wanted == Halts::none || !near) continue;
    const auto distance = [at](const WatchSlot& one) { return std::abs(one.pivot_now.micros - at.micros); };
    if (nearest == nullptr || distance(slot) < distance(*nearest)) nearest = &slot;
  }
  if (nearest == nullptr) return;
  memory.halt_told = kind == NoticeKind::halted;
  Notice notice = make_notice(*nearest, kind, print);
  if (kind == NoticeKind::resumed) notice.price_before = memory.before_halt;
  notice.count = count_one(*nearest, kind);
  notice.volume = volume_at(*nearest, print.time);
  emit(std::move(notice));
}

}  // namespace brimwatch
