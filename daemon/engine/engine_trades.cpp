#include <algorithm>

#include "engine/engine_impl.h"

namespace brimwatch {
namespace {

constexpr Nanos kFutureMost = 2 * kMinute;  ///< further ahead of our clock than those before is not believed
constexpr Nanos kLeap = 120 * kHour;        ///< nor is a day so far ahead: no exchange is closed that long
constexpr Nanos kSameLeap = 24 * kHour;
constexpr Price kPriceMost{1'000'000'000 * kMicrosPerUnit};

/// Closing auctions after the close that feeds give no code for: London's, ten minutes after the close at the latest, and
/// Toronto's. The exchanges' own rules; common practice.
struct LateAuction {
  std::string_view mic;
  Nanos from, to;  ///< after the close
};
constexpr std::array kLateAuctions{LateAuction{"XLON", 5 * kMinute, 10 * kMinute}, LateAuction{"XTSE", 0, 10 * kMinute}};
constexpr std::int64_t kAuctionLeast = 100;  ///< an auction is no smaller than one part in so many of the day so far

}  // namespace

void Engine::Impl::take(const Tick& tick) {
  ++counters_.ticks;
  switch (tick.kind) {
    case TickKind::trade:
      return take_trade(tick);
    case TickKind::quote:
      return take_quote(tick);
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
    if (admit_other_day(tick) == nullptr) return nullptr;
  }
  if (tick.time >= due_) [[unlikely]]
    confirm_due(tick.time);
  const DayClock& clock = clock_of(hot);
  if (clock.session() == nullptr || clock.is_over()) [[unlikely]]
    return ++counters_.ignored, nullptr;
  if (hot.day != clock.day()) [[unlikely]]
    begin_day(tick.symbol);
  if (hot.is_stale) [[unlikely]]
    catch_up(tick.symbol);
  return &hot;
}

bool Engine::Impl::is_leap(const DayClock& clock, Timestamp time) {
  return clock.day() != Date{} && time > clock.edge() + kLeap;
}

SymbolHot* Engine::Impl::admit_other_day(const Tick& tick) {
  SymbolHot& hot = hot_of(tick.symbol);
  if (is_leap(clock_of(hot), tick.time) && !leap_believed_) return hold_leap(tick), nullptr;
  move_clock(hot.clock, tick.time);
  if (clock_of(hot).is_past(tick.time)) return ++counters_.out_of_order, nullptr;
  return &hot;
}

/// One row of another year must not end the days of this one. Three that agree are believed, and none of them is lost.
void Engine::Impl::hold_leap(const Tick& tick) {
  if (leap_count_ > 0) {
    const Nanos apart = tick.time - leaps_[0].time;
    if (apart > kSameLeap || apart < -kSameLeap) {
      counters_.absurd += static_cast<std::uint64_t>(leap_count_);
      leap_count_ = 0;
    }
  }
  if (leap_count_ + 1 < kAheadBelieved) {
    leaps_[static_cast<std::size_t>(leap_count_++)] = tick;
    return;
  }
  leap_believed_ = true;
  leap_count_ = 0;
  for (const Tick& held : std::array<Tick, 3>{leaps_[0], leaps_[1], tick}) take(held);
  leap_believed_ = false;
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
    lead_known_ = true;
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
  const std::uint64_t key = id_on_exchange(tick);
  if (ids_.is_known(RecentIds::key_of(id, key), tick.time)) return ++counters_.duplicates, true;
  SymbolMemory& memory = cold_of(id).memory;
  memory.recent_trades[memory.recent_at] = key;
  memory.recent_at = static_cast<std::uint8_t>((memory.recent_at + 1) % 8);
  return false;
}

/// Not more than two seconds older than the newest price. When the newest stands alone ahead of all others and three
/// later ones agree, it is the one that was stamped wrong.
bool Engine::Impl::is_in_order(SymbolHot& hot, SymbolMemory& memory, Timestamp time) {
  if (time >= hot.newest - kLateMost) [[likely]] {
    if (memory.behind != 0) memory.behind = 0;
    if (time > hot.newest) {
      memory.newest_before = hot.newest;
      hot.newest = time;
    }
    return true;
  }
  if (time < memory.newest_before - kLateMost) return false;
  if (memory.behind > 0 && time < memory.behind_newest - kLateMost) return false;
  memory.behind_newest = memory.behind > 0 ? std::max(memory.behind_newest, time) : time;
  if (++memory.behind < kAheadBelieved) return false;
  memory.behind = 0;
  hot.newest = memory.behind_newest;
  return true;
}

bool Engine::Impl::is_closing_print(const SymbolHot& hot, const Tick& tick, std::uint16_t bars) {
  return (bars & kClosingPrint) && (hot.listing == 0 || tick.exchange == 0 || tick.exchange == hot.listing);
}

/// The first large print in the time of an auction that has no code; what follows at once at its price are its other
/// fills.
bool Engine::Impl::is_uncoded_auction(SymbolId id, const Tick& tick) const {
  const DayClock& clock = clock_of(hot_of(id));
  const auto at = std::find_if(kLateAuctions.begin(), kLateAuctions.end(),
                               [&](const LateAuction& one) { return one.mic == clock.calendar().mic(); });
  if (at == kLateAuctions.end()) return false;
  const Nanos after = tick.time - clock.session()->close;
  if (after < at->from || after > at->to) return false;
  const SeenPrint& closing = cold_of(id).memory.closing;
  if (closing.price.is_set()) return tick.price == closing.price && std::abs(tick.time - closing.time) <= kSecond;
  return tick.size.micros >= volume_of(id).so_far.micros / kAuctionLeast;
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
  SymbolMemory& memory = cold_of(tick.symbol).memory;
  ++memory.trades;
  hot->feed = tick.feed;
  if (!clock_of(*hot).is_open(tick.time)) return take_outside(tick.symbol, tick, bars);
  const bool counts = !(bars & kNoVolume);
  if (volume_of(tick.symbol).minute < 0 && (bars & kAuctionPrint)) [[unlikely]]
    open_late(tick.symbol, tick.time);
  if (tick.day_volume > Shares{}) {  // what was missing came before this trade
    const Shares before{tick.day_volume.micros - (counts ? tick.size.micros : 0)};
    take_first_count(tick.symbol, before);
    reconcile(tick.symbol, tick.time, before);
  }
  if (counts) count_volume(tick.symbol, tick.time, tick.size);
  if (counts && (bars & kOpeningPrint)) [[unlikely]]
    note_opening(tick.symbol);
  if (!moves_last(*hot, tick, bars)) return take_beside(tick.symbol, tick, bars);
  if (!is_in_order(*hot, memory, tick.time)) [[unlikely]]
    return void(++counters_.out_of_order);
  ++counters_.eligible;
  Print print = print_of(tick);
  print.auction = (bars & kAuctionPrint) != 0;
  offer(tick.symbol, print);
}

/// What moves no price moves no clock: only that it was heard is remembered. An odd lot at a held price bears it out.
void Engine::Impl::take_beside(SymbolId id, const Tick& tick, std::uint16_t bars) {
  const SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  memory.newest_outside = std::max(memory.newest_outside, tick.time);
  if (tick.time < hot.newest - kLateMost) return void(++counters_.out_of_order);
  ++counters_.volume_only;
  if (!(bars & kNoHighLow)) move_high_low(id, print_of(tick).seen());
  if (!hot.holding || !(bars & kOddLot)) return;
  if (!is_far(id, tick.price, memory.held.price, hot.bad_print / 2)) confirm_held(id, tick.time);
}

/// Before the open, in a break, after the close: no level moves. The closing print counts for the day, and is its close;
/// so does the corrected close. Other late trades are in no daily bar's volume, as real bars show.
void Engine::Impl::take_outside(SymbolId id, const Tick& tick, std::uint16_t bars) {
  ++counters_.volume_only;
  SymbolMemory& memory = cold_of(id).memory;
  const Session& session = *clock_of(hot_of(id)).session();
  memory.newest_outside = std::max(memory.newest_outside, tick.time);
  const bool after = tick.time >= session.close;
  const bool closing = after && (is_closing_print(hot_of(id), tick, bars) || is_uncoded_auction(id, tick));
  const bool counts = !(bars & kNoVolume);
  if (counts && (closing || options_.extended_volume)) count_volume(id, tick.time, tick.size);
  else if (counts && tick.time < session.open) memory.outside_volume += tick.size;
  if (tick.time < session.open) take_count_before_open(id, tick.day_volume);
  const bool corrected_close = after && !(bars & kNoLast) && !counts;
  if (corrected_close || (closing && !(bars & kNoLast))) take_closing_print(id, tick, bars);
}

/// The close is the listing market's; where that is not known, the largest auction's.
void Engine::Impl::take_closing_print(SymbolId id, const Tick& tick, std::uint16_t bars) {
  SymbolMemory& memory = cold_of(id).memory;
  const bool corrects = (bars & kNoVolume) != 0;
  const bool is_listing_s = hot_of(id).listing != 0 && tick.exchange == hot_of(id).listing;
  if (!corrects && !is_listing_s && memory.closing.price.is_set() && tick.size <= memory.closing_size) return;
  memory.closing = print_of(tick).seen();
  memory.closing_size = is_listing_s ? kSizeMost : std::max(tick.size, memory.closing_size);
  if (!(bars & kNoHighLow)) move_high_low(id, memory.closing);
}

void Engine::Impl::accept(SymbolId id, const Print& print) {
  SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  const bool first = !hot.last.is_set();
  const Timestamp time_before = memory.prints.time[memory.print_at];
  memory.print_at = static_cast<std::uint8_t>((memory.print_at + 1) % kRecentPrints);
  memory.prints.put(memory.print_at, print.seen());
  hot.last = print.price;
  hot.last_exchange = print.exchange;
  if (first) [[unlikely]]
    open_day(id, print);
  if (print.price > memory.high_floor) add_high(memory, print.seen());
  if (print.price < memory.low_ceiling) add_low(memory, print.seen());
  if (hot.has_halts) [[unlikely]]
    trade_again(id, print);
  if (print.price.micros >= hot.up || print.price.micros <= hot.down) touch(id, print, first);
  memory.in_hole = false;
  if (hot.waiting != 0 && time_before.ns / kJudgeEvery != print.time.ns / kJudgeEvery) judge_waiting(id, print);
}

void Engine::Impl::open_day(SymbolId id, const Print& print) {
  SymbolMemory& memory = cold_of(id).memory;
  memory.opening = print.seen();
  memory.low_ceiling = Price{kNever};
  set_gap(id);
  look_for_split(id, print);
}

void Engine::Impl::add_high(SymbolMemory& memory, const SeenPrint& print) {
  add_extreme(memory.highs, print, 1);
  memory.high_floor = memory.highs.price[kExtremes - 1];
}

void Engine::Impl::add_low(SymbolMemory& memory, const SeenPrint& print) {
  add_extreme(memory.lows, print, -1);
  const Price third = memory.lows.price[kExtremes - 1];
  memory.low_ceiling = third.is_set() ? third : Price{kNever};
}

/// For prices that count for the day's range and not for the last.
void Engine::Impl::move_high_low(SymbolId id, const SeenPrint& print) {
  const SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  if (!hot.last.is_set() || (hot.bad_print != 0 && is_far(id, print.price, hot.last, hot.bad_print))) return;
  if (print.price > memory.high_floor) add_high(memory, print);
  if (print.price < memory.low_ceiling) add_low(memory, print);
}

}  // namespace brimwatch
