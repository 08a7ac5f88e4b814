#include <algorithm>

#include "engine/engine_impl.h"

namespace brimwatch {
namespace {

constexpr Nanos kLateMost = 2 * kSecond;  ///< older than the newest by more: it comes too late to move a level
constexpr Nanos kFutureMost =
    2 * kMinute;                   ///< a trade so much further ahead of our clock than those before is not believed
constexpr int kAheadBelieved = 3;  ///< but so many in a row are: then it is our clock that was set back
constexpr Price kPriceMost{1'000'000'000 * kMicrosPerUnit};

}  // namespace

void Engine::Impl::take(const Tick& tick) {
  ++counters_.ticks;
  switch (tick.kind) {
    case TickKind::trade:
      return take_trade(tick);
    case TickKind::quote:
      return;
    case TickKind::cancel:
      return take_cancel(tick);
    case TickKind::correct:
      return take_correct(tick);
    case TickKind::status:
      return take_status(tick);
    case TickKind::bar:
      return take_bar(tick);
    case TickKind::day:
      return take_day(tick);
    case TickKind::hole:
      return take_hole(tick);
  }
}

SymbolHot* Engine::Impl::admit(const Tick& tick) {
  if (!is_watched(tick.symbol)) return ++counters_.ignored, nullptr;
  SymbolHot& hot = hot_of(tick.symbol);
  if (!clocks_[hot.clock].holds(tick.time)) [[unlikely]] {
    move_clock(hot.clock, tick.time);
    const DayClock& clock = clock_of(hot);
    if (clock.is_past(tick.time)) return ++counters_.out_of_order, nullptr;
  }
  const DayClock& clock = clock_of(hot);
  if (clock.session() == nullptr || clock.is_over()) [[unlikely]]
    return ++counters_.ignored, nullptr;
  if (hot.day != clock.day()) [[unlikely]]
    begin_day(tick.symbol);
  if (hot.is_stale) [[unlikely]]
    catch_up(tick.symbol);
  return &hot;
}

/// Far ahead of its time, as far as it is known how the feed's clock and ours are apart.
bool Engine::Impl::is_ahead(const Tick& tick) const {
  if (!tick.received.is_set()) return false;
  const Nanos lead = tick.time - tick.received;
  return lead > lead_ + kFutureMost && lead > kFutureMost;
}

bool Engine::Impl::is_now(const Tick& tick) {
  if (!tick.received.is_set()) return true;
  if (!is_ahead(tick) || ++ahead_in_row_ >= kAheadBelieved) {
    lead_ = tick.time - tick.received;
    ahead_in_row_ = 0;
    return true;
  }
  return false;
}

bool Engine::Impl::is_sane(const Tick& tick) {
  const bool sane = tick.price > Price{} && tick.price <= kPriceMost && tick.size >= Shares{} && tick.size <= kSizeMost &&
                    tick.time.is_set() && is_now(tick);
  if (!sane) ++counters_.absurd;
  return sane;
}

bool Engine::Impl::is_duplicate(SymbolId id, const Tick& tick) {
  if (tick.id == 0) return false;
  SymbolMemory& memory = cold_of(id).memory;
  const std::uint64_t key = tick.id ^ (static_cast<std::uint64_t>(static_cast<unsigned char>(tick.exchange)) << 56);
  bool seen = false;
  for (const std::uint64_t other : memory.recent_trades) seen |= other == key;
  if (seen) return ++counters_.duplicates, true;
  memory.recent_trades[memory.recent_at] = key;
  memory.recent_at = static_cast<std::uint8_t>((memory.recent_at + 1) % 8);
  return false;
}

bool Engine::Impl::is_closing_print(const SymbolHot& hot, const Tick& tick, std::uint16_t bars) {
  return (bars & kClosingPrint) && (hot.listing == 0 || tick.exchange == 0 || tick.exchange == hot.listing);
}

void Engine::Impl::count_volume(SymbolId id, Timestamp time, Shares size) {
  DayVolume& day = volume_of(id);
  if (day.so_far > kDayMost) return;
  const SymbolHot& hot = hot_of(id);
  const DayClock& clock = clock_of(hot);
  if (time < clock.session()->open) {
    day.so_far += size;
    return;
  }
  const auto minute = static_cast<std::int32_t>((hot.has_halts ? traded_time(id, time) : clock.elapsed(time)) / kMinute);
  if (minute > day.minute) pass_knots(id, minute);
  day.add(minute, size);
}

void Engine::Impl::note_opening(SymbolId id) {
  cold_of(id).memory.opening_seen = true;
  opening_heard_ = hot_of(id).day;
}

void Engine::Impl::pass_knots(SymbolId id, std::int32_t minute) {
  SymbolMemory& memory = cold_of(id).memory;
  const double of_390 = minute * clock_of(hot_of(id)).to_390();
  while (memory.knots < kKnots && kKnotMinutes[memory.knots] <= of_390) {
    memory.knot_volume[memory.knots++] = volume_of(id).so_far.micros;
  }
}

/// In the session. What kLastUntilLate asks is settled by that: its bound lies after the close.
bool Engine::Impl::moves_last(const SymbolHot& hot, const Tick& tick, std::uint16_t bars) const {
  if (bars & kNoLast) return false;
  if (!(bars & (kLastIfFirst | kLastIfSameMarket)) || !hot.last.is_set()) return true;
  if (bars & kLastIfFirst) return false;
  return tick.exchange != 0 && (tick.exchange == hot.last_exchange || tick.exchange == hot.listing);
}

[[gnu::flatten]] void Engine::Impl::take_trade(const Tick& tick) {
  ++counters_.trades;
  if (!is_sane(tick)) [[unlikely]]
    return;
  SymbolHot* const hot = admit(tick);
  if (hot == nullptr) return;
  if (is_duplicate(tick.symbol, tick)) [[unlikely]]
    return;
  const std::uint16_t bars = (hot->tape == Tape::cts ? cts_cache_ : utdf_cache_).bars_of(tick.conditions);
  if (bars & kUnknownCode) ++counters_.unknown_conditions;
  mark(tick.symbol);
  ++cold_of(tick.symbol).memory.trades;
  if (!clock_of(*hot).is_open(tick.time)) return take_outside(*hot, tick, bars);
  const bool counts = !(bars & kNoVolume);
  if (tick.day_volume > Shares{})  // what was missing came before this trade
    reconcile(tick.symbol, tick.time, Shares{tick.day_volume.micros - (counts ? tick.size.micros : 0)});
  if (counts) count_volume(tick.symbol, tick.time, tick.size);
  if (counts && (bars & kOpeningPrint)) [[unlikely]]
    note_opening(tick.symbol);
  if (tick.time < hot->newest - kLateMost) {
    ++counters_.out_of_order;
    return;
  }
  const bool moves = moves_last(*hot, tick, bars);
  hot->newest = std::max(hot->newest, tick.time);
  if (!moves) {
    ++counters_.volume_only;
    if (!(bars & kNoHighLow)) move_high_low(tick.symbol, tick.price);
    return;
  }
  ++counters_.eligible;
  offer(tick.symbol, {tick.price, tick.time, tick.received, tick.id, tick.exchange});
}

/// Before the open, in a break, after the close: no level moves. The closing print counts for the day, and is its close;
/// so does the corrected close. Other late trades are in no daily bar's volume, as real bars show.
void Engine::Impl::take_outside(SymbolHot& hot, const Tick& tick, std::uint16_t bars) {
  ++counters_.volume_only;
  Timestamp& newest = cold_of(tick.symbol).memory.newest_outside;
  newest = std::max(newest, tick.time);
  const bool after = tick.time >= clock_of(hot).session()->close;
  const bool closing = after && is_closing_print(hot, tick, bars);
  if (!(bars & kNoVolume) && (closing || options_.extended_volume)) count_volume(tick.symbol, tick.time, tick.size);
  const bool corrected_close = after && !(bars & kNoLast) && (bars & kNoVolume);
  if (!(closing && !(bars & kNoLast)) && !corrected_close) return;
  cold_of(tick.symbol).memory.close = tick.price;
  if (!(bars & kNoHighLow)) move_high_low(tick.symbol, tick.price);
}

bool Engine::Impl::is_far(Price price, Price from, std::uint32_t bad_print) {
  // Doubles do: the bound is a rule of thumb, and the same on every machine; no pivot is compared here.
  const auto distance = static_cast<double>(price > from ? price.micros - from.micros : from.micros - price.micros);
  return distance * 1e8 > static_cast<double>(from.micros) * bad_print;
}

/// The print guard: a price too far from the last is held; the next one that agrees with it (within half the bound) makes
/// both count, any other one drops it.
void Engine::Impl::offer(SymbolId id, const Print& print) {
  SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  if (hot.holding) [[unlikely]] {
    const Print held{memory.held, memory.held_time, {}, memory.held_trade, memory.held_exchange};
    const bool agrees = !is_far(print.price, held.price, hot.bad_print / 2);
    if (agrees && print.again) return;
    hot.holding = false;
    memory.held = {};
    if (agrees) {
      ++counters_.confirmed;
      accept(id, held);
      accept(id, print);
      return;
    }
    ++counters_.held_as_bad;
  }
  const Price from = hot.last.is_set() ? hot.last : memory.previous_close;
  if (hot.bad_print != 0 && from.is_set() && is_far(print.price, from, hot.bad_print)) [[unlikely]] {
    hot.holding = true;
    memory.held = print.price;
    memory.held_time = print.time;
    memory.held_trade = print.trade;
    memory.held_exchange = print.exchange;
    return;
  }
  accept(id, print);
}

void Engine::Impl::accept(SymbolId id, const Print& print) {
  SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  const bool first = !hot.last.is_set();
  const Timestamp time_before = memory.last_price_time;
  memory.before = first ? memory.previous_close : hot.last;
  hot.last = print.price;
  hot.last_exchange = print.exchange;
  memory.last_trade = print.trade;
  memory.last_price_time = print.time;
  if (first) [[unlikely]]
    open_day(id, print);
  if (print.price > memory.day_high) memory.day_high = print.price;
  if (print.price < memory.day_low) memory.day_low = print.price;
  if (hot.has_halts && memory.halted_since.is_set()) [[unlikely]]
    resume_on_trade(id, print);
  if (print.price.micros >= hot.up || print.price.micros <= hot.down) touch(id, print, first);
  memory.in_hole = false;
  if (hot.waiting != 0 && time_before.ns / kJudgeEvery != print.time.ns / kJudgeEvery) judge_waiting(id, print);
}

void Engine::Impl::open_day(SymbolId id, const Print& print) {
  SymbolMemory& memory = cold_of(id).memory;
  memory.day_open = memory.day_high = memory.day_low = print.price;
  set_gap(id);
  look_for_split(id, print);
}

/// For prices that count for the day's range and not for the last.
void Engine::Impl::move_high_low(SymbolId id, Price price) {
  SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  if (!hot.last.is_set() || (hot.bad_print != 0 && is_far(price, hot.last, hot.bad_print))) return;
  memory.day_high = std::max(memory.day_high, price);
  memory.day_low = std::min(memory.day_low, price);
}

}  // namespace brimwatch
