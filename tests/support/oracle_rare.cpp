// Bars, snapshots, halts, holes.
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <set>

#include "support/oracle.h"
#include "support/oracle_prints.h"

namespace brimwatch::test {

namespace {

/// Ascending and apart, whatever overlaps or touches made one; twelve at the most, of which the nearest two join.
void unite(std::vector<std::pair<Nanos, Nanos>>& all, std::pair<Nanos, Nanos> span) {
  if (span.second <= span.first) return;
  all.push_back(span);
  std::sort(all.begin(), all.end());
  for (std::size_t i = 1; i < all.size();) {
    if (all[i].first > all[i - 1].second) {
      ++i;
      continue;
    }
    all[i - 1].second = std::max(all[i - 1].second, all[i].second);
    all.erase(all.begin() + static_cast<std::ptrdiff_t>(i));
  }
  if (all.size() <= 12) return;
  std::size_t nearest = 1;
  for (std::size_t i = 1; i < all.size(); ++i) {
    if (all[i].first - all[i - 1].second < all[nearest].first - all[nearest - 1].second) nearest = i;
  }
  all[nearest - 1].second = all[nearest].second;
  all.erase(all.begin() + static_cast<std::ptrdiff_t>(nearest));
}

}  // namespace

/// The feed's own count of the day wins when it is the higher one; what was missed on the way is then no hole any more.
/// It is spread evenly over the minutes since the last trade, what does not divide comes on top.
void Oracle::believe_day_volume(SymbolLine& s, Timestamp time, Shares day_volume) {
  if (day_volume > kBelievable || day_volume.micros <= 0) return;
  day_volume.micros -= s.count_before.micros;
  if (day_volume.micros <= 0 || day_volume < s.volume.so_far) return;
  for (const auto& span : s.unheard) unite(s.healed, span);
  s.unheard.clear();
  weigh_unheard(s);
  const std::int64_t more = day_volume.micros - s.volume.so_far.micros;
  if (more == 0) return;
  const int minute = static_cast<int>(minutes(s, time) + 1e-12);
  pass_knots(s, minute);
  const int first = minute > s.volume.minute ? s.volume.minute + 1 : minute;
  const int n = minute - first + 1;
  s.volume.so_far += Shares{more % n};
  for (int m = first; m <= minute; ++m) s.volume.add(m, Shares{more / n});
}

void Oracle::bar(const Tick& tick, std::vector<std::string>& said) {
  const Session* session = nullptr;
  SymbolLine* const s = symbol_at(tick, session);
  if (s == nullptr) return;
  Tick print = tick;
  print.time = tick.time - 1;  // its last nanosecond: the end belongs to the next minute
  if (tick.time <= s->newest_bar) return;
  s->feed = tick.feed;
  if (!session->is_open(print.time)) return;
  s->newest_bar = tick.time;
  const Shares before{tick.day_volume.micros - tick.size.micros};
  if (tick.day_volume.micros > 0) look_at_first_count(*s, before);
  believe_day_volume(*s, print.time, before);
  add_volume(*s, print.time, tick.size);
  believe_day_volume(*s, print.time, tick.day_volume);
  if (print.time < s->newest || !is_in_order(*s, print.time)) return;
  std::vector<Price> prices{tick.bid, tick.ask, tick.price};
  if (s->last.is_set() && tick.price < s->last) std::swap(prices[0], prices[1]);
  bool again = false;
  for (const Price price : prices) {
    if (price.micros <= 0 || (price == s->last && price != tick.price)) continue;
    print.price = price;
    offer(tick.symbol, print, said, std::exchange(again, true));
  }
}

void Oracle::snapshot(const Tick& tick, std::vector<std::string>& said) {
  const Session* session = nullptr;
  SymbolLine* const s = symbol_at(tick, session);
  if (s == nullptr) return;
  s->feed = tick.feed;
  if (tick.time < session->open) {
    if (!extended_volume && tick.day_volume.micros > 0 && tick.day_volume <= kBelievable)
      s->count_before = tick.day_volume;
  } else if (tick.day_volume < s->count_before) {
    s->count_before = {};
  }
  const bool more = tick.day_volume.micros - s->count_before.micros > s->volume.so_far.micros;
  const Column c = column_of(tick.conditions);
  if (session->is_open(tick.time)) {
    believe_day_volume(*s, tick.time, tick.day_volume);
    if (!is_last_price(*s, tick, c)) return beside(*s, tick, c, said);
    bool again = tick.day_volume.micros > 0 ? !more : tick.time <= s->newest;
    if (s->held && same_trade(*s->held, tick)) again = true;
    if (!s->recent.empty() && same_trade(s->recent[0], tick)) again = true;
    if (!is_in_order(*s, tick.time)) return;
    return offer(tick.symbol, tick, said, again);
  }
  if (!more || tick.time < session->close) return;
  believe_day_volume(*s, tick.time, tick.day_volume);  // the closing auction's
  if (!c.last || s->closing || !s->last.is_set() || is_far(tick.symbol, tick.price, s->last, guard_of(tick.symbol)))
    return;
  s->closing = tick;
  move_high_low(tick.symbol, *s, tick);
}

/// What the source has counted before the session's first trade: more than a hundredth of a normal day is either what was
/// traded before the open, or nobody knows what. Where something was not heard it is that.
void Oracle::look_at_first_count(SymbolLine& s, Shares before_this) {
  if (s.volume.minute >= 0) return;
  if (before_this < s.count_before) s.count_before = {};
  const std::int64_t gap = before_this.micros - s.count_before.micros - s.volume.so_far.micros;
  if (extended_volume || gap <= 0 || before_this > kBelievable || !s.unheard.empty()) return;
  if (static_cast<double>(gap) / 1e6 * 100 <= s.plan.normal) return;
  s.count_before.micros += gap;
  s.count_unclear = std::abs(gap - s.outside_volume.micros) > gap / 10;
}

void Oracle::status(const Tick& tick, std::vector<std::string>& said) {
  const Session* session = nullptr;
  SymbolLine* const s = symbol_at(tick, session);
  if (s == nullptr || tick.status == TradingStatus::none) return;
  const bool halted = !s->halts.empty() && !s->halts.back().second.is_set();
  if (tick.status == TradingStatus::trading) {
    if (halted) end_halt(*s, tick.time);
    return;
  }
  if (halted) return;
  s->halts.push_back({tick.time, {}});
  if (std::exchange(s->resuming, false)) return;  // no trade since the one before: it is the same to whoever was told
  s->before_halt = s->last.is_set() ? s->last : s->previous_close;
  Tick told = tick;
  told.price = s->last;
  say_once(tick.symbol, *s, NoticeKind::halted, told, said);
}

void Oracle::end_halt(SymbolLine& s, Timestamp time) {
  s.halts.back().second = time;
  s.resuming = true;
}

/// It trades again when it does: on an exchange, and ten seconds into a halt that nobody has ended.
void Oracle::trade_again(SymbolId id, const Tick& tick, std::vector<std::string>& said) {
  SymbolLine& s = symbols_[id];
  if (tick.exchange == 'D') return;
  const bool halted = !s.halts.empty() && !s.halts.back().second.is_set();
  if (halted && tick.time - s.halts.back().first >= 10 * kSecond) end_halt(s, tick.time);
  if (!s.resuming) return;
  s.resuming = false;
  if (std::exchange(s.halt_told, false)) say_once(id, s, NoticeKind::resumed, tick, said);
}

/// Once a symbol: by the nearest watch that wants to know.
void Oracle::say_once(SymbolId id, SymbolLine& s, NoticeKind kind, const Tick& tick, std::vector<std::string>& said) {
  const Price at = s.before_halt;
  WatchLine* nearest = nullptr;
  const auto distance = [at](const WatchLine& w) { return std::abs(w.watch.pivot.micros - at.micros); };
  for (WatchLine* w : watches_of(id)) {
    if (!is_active(*w, s.day) || w->watch.rules.halts == Halts::none) continue;
    const Price least = w->loss_open ? w->watch.loss_limit : w->watch.pivot;
    const bool near = !at.is_set() || at.micros / 95 >= least.micros / 100;
    if (!near && w->watch.rules.halts != Halts::all) continue;
    if (nearest == nullptr || distance(*w) < distance(*nearest)) nearest = w;
  }
  if (nearest == nullptr) return;
  s.halt_told = kind == NoticeKind::halted;
  const Happening what{kind, true, false, ++nearest->counts[kind], nearest->side};
  say(*nearest, s, what, tick, kind == NoticeKind::resumed ? at : before_last(s), view(*nearest, s, tick.time), said);
}

void Oracle::hole(const Tick& tick) {
  std::set<SymbolId> ids;
  for (const WatchLine& w : watches_) {
    const SymbolId id = names_.find(w.watch.symbol);
    const auto line = symbols_.find(id);
    const std::uint8_t feed = line == symbols_.end() ? kFeedUnknown : line->second.feed;
    const bool is_carried = feed == kFeedUnknown || feed == tick.feed;  // another feed was heard of it: not blamed
    if (tick.symbol == kNoSymbol ? is_carried : tick.symbol == id) ids.insert(id);
  }
  for (const SymbolId id : ids) {
    Tick at = tick;
    at.symbol = id;
    at.time = tick.received;
    const Session* session = nullptr;
    SymbolLine* const s = symbol_at(at, session);
    if (s == nullptr) continue;
    s->hole_since_last = s->last.is_set();
    add_unheard(*s, tick.time, tick.received);
  }
}

void Oracle::add_unheard(SymbolLine& s, Timestamp from, Timestamp to) {
  const auto traded = [&](Timestamp time) { return std::llround(minutes(s, time) * 6e10); };
  unite(s.unheard, {traded(from), traded(to)});
  weigh_unheard(s);
}

void Oracle::weigh_unheard(SymbolLine& s) {
  const double scale = 390 / calendar_->on(s.day)->minutes();
  const Curve& curve = s.plan.curve != nullptr ? *s.plan.curve : default_curve();
  const auto share = [&](const std::vector<std::pair<Nanos, Nanos>>& spans) {
    double sum = 0;
    const auto micro = [&](Nanos time) { return std::round(static_cast<double>(time) / 6e4 * scale) / 1e6; };
    for (const auto& [from, to] : spans) sum += curve.at(micro(to)) - curve.at(micro(from));
    return sum;
  };
  s.missed_minutes = 0;
  for (const auto& [from, to] : s.unheard) s.missed_minutes += static_cast<double>(to - from) / 6e10;
  s.missed_to = s.unheard.empty() ? 0 : static_cast<double>(s.unheard.back().second) / 6e10;
  s.missed_share = share(s.unheard);
  auto blind = s.healed;
  for (const auto& span : s.unheard) unite(blind, span);
  s.blind_share = share(blind);
}

}  // namespace brimwatch::test
