#include <algorithm>
#include <cmath>

#include "engine/engine_impl.h"

namespace brimwatch {
namespace {

constexpr Nanos kLateStart = kMinute;       ///< a list may be silent so long after the open
constexpr Nanos kSilentEnd = 15 * kMinute;  ///< no trade of any symbol for so long before the close: nobody was heard

}  // namespace

/// A hole of all symbols is one of those that the feed carries: it blames no symbol that another feed was heard of last.
/// It begins the day of those that have not been heard of yet, so that each remembers what it missed.
void Engine::Impl::take_hole(const Tick& tick) {
  const Timestamp to = std::max(tick.received, tick.time);
  if (to >= due_) confirm_due(to);
  if (tick.symbol != kNoSymbol) {
    if (!is_watched(tick.symbol)) return void(++counters_.ignored);
    return hole_of(tick.symbol, tick.time, to);
  }
  for (SymbolId id = 0; id < book_.hot.size(); ++id) {
    const bool is_carried = hot_of(id).feed == kFeedUnknown || hot_of(id).feed == tick.feed;
    if (is_watched(id) && is_carried) hole_of(id, tick.time, to);
  }
}

void Engine::Impl::hole_of(SymbolId id, Timestamp from, Timestamp to) {
  SymbolHot& hot = hot_of(id);
  if (!clock_of(hot).holds(to)) move_clock(hot.clock, to);
  const DayClock& clock = clock_of(hot);
  if (clock.session() == nullptr || clock.is_over() || clock.is_past(to)) return;
  const bool is_unknown = hot.day == Date{} && restored_;  // it came on the list while the program was not running
  if (hot.day != clock.day()) begin_day(id);
  if (hot.is_stale) catch_up(id);
  if (is_unknown) from = std::min(from, clock.session()->open);
  cold_of(id).memory.in_hole = hot.last.is_set();
  add_unheard(id, from, to);
}

void Engine::Impl::add_unheard(SymbolId id, Timestamp from, Timestamp to) {
  cold_of(id).memory.unheard.add(traded_time(id, from), traded_time(id, to));
  weigh_unheard(id);
  mark(id);
}

/// It was not on the list: from the open, or from when it left it, until it came.
void Engine::Impl::add_absence(SymbolId id) {
  SymbolCold& cold = cold_of(id);
  const Timestamp to = std::exchange(cold.absent_to, {});
  const Timestamp left = std::exchange(cold.absent_from, {});
  const Session* const session = clock_of(hot_of(id)).session();
  if (!to.is_set() || session == nullptr || to - session->open <= kLateStart) return;
  add_unheard(id, std::max(left, session->open), to);
}

/// The volume of what was not heard is known now.
void Engine::Impl::heal(SymbolId id) {
  SymbolMemory& memory = cold_of(id).memory;
  if (memory.unheard.empty()) return;
  memory.healed.add_all(memory.unheard);
  memory.unheard.clear();
  weigh_unheard(id);
}

/// What it comes to: minutes, and the part of a usual day in them.
void Engine::Impl::weigh_unheard(SymbolId id) {
  const SymbolHot& hot = hot_of(id);
  const SymbolCold& cold = cold_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  const double scale = clock_of(hot).to_390() / static_cast<double>(kMinute);
  const Curve* known = cold.group_count > 0 ? book_.groups[cold.first_group].plan.curve.get() : nullptr;
  const Curve& curve = known != nullptr ? *known : default_curve();
  // To a millionth of a minute: the curve has its auction at the last one, which a product may miss by its last digit.
  const auto at = [&](Nanos traded) { return curve.at(std::round(static_cast<double>(traded) * scale * 1e6) / 1e6); };
  const auto share = [&](const Spans& spans) {
    double sum = 0;
    for (std::size_t i = 0; i < spans.size(); ++i) sum += at(spans.to[i]) - at(spans.from[i]);
    return sum;
  };
  memory.missed_minutes = static_cast<double>(memory.unheard.length()) / static_cast<double>(kMinute);
  memory.missed_to = static_cast<double>(memory.unheard.end()) / static_cast<double>(kMinute);
  memory.missed_from = std::max(0.0, memory.missed_to - memory.missed_minutes);
  memory.missed_share = share(memory.unheard);
  Spans blind = memory.healed;
  blind.add_all(memory.unheard);
  memory.blind_share = share(blind);
}

/// How late it is by all that was heard.
Timestamp Engine::Impl::heard_until() const {
  Timestamp until = told_time_;
  for (SymbolId id = 0; id < book_.hot.size(); ++id) {
    until = std::max({until, hot_of(id).newest, cold_of(id).memory.newest_outside});
  }
  return until;
}

/// The day is over, and nothing was heard at its end: what is not known is no silence.
void Engine::Impl::miss_the_end(std::uint8_t clock, Date day) {
  const Session* const session = clocks_[clock].calendar().on(day);
  if (session == nullptr) return;
  const auto is_one = [&](SymbolId id) {
    return is_watched(id) && hot_of(id).clock == clock && hot_of(id).day == day && !cold_of(id).memory.ended;
  };
  Timestamp heard;
  for (SymbolId id = 0; id < book_.hot.size(); ++id) {
    if (is_one(id)) heard = std::max({heard, hot_of(id).newest, cold_of(id).memory.newest_outside});
  }
  if (!heard.is_set() || heard >= session->close - kSilentEnd) return;
  for (SymbolId id = 0; id < book_.hot.size(); ++id) {
    if (is_one(id)) add_unheard(id, std::max(heard, session->open), session->close);
  }
}

}  // namespace brimwatch
