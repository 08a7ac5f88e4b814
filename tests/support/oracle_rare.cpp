// Corrections, halts, holes, bars and snapshots.
#include <algorithm>
#include <cmath>
#include <set>

#include "support/oracle.h"
#include "support/oracle_prints.h"

namespace brimwatch::test {

/// The feed's own count of the day wins when it is the higher one; what was missed on the way is then no hole any more.
/// It is spread evenly over the minutes since the last trade, what does not divide comes on top.
void Oracle::believe_day_volume(SymbolLine& s, Timestamp time, Shares day_volume) {
  if (day_volume > kBelievable || day_volume.micros <= 0 || day_volume < s.volume.so_far) return;
  s.healed_share += s.missed_share;
  s.missed_minutes = s.missed_to = s.missed_share = 0;
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
  if (!session->is_open(print.time)) return;
  believe_day_volume(*s, print.time, Shares{tick.day_volume.micros - tick.size.micros});
  add_volume(*s, print.time, tick.size);
  believe_day_volume(*s, print.time, tick.day_volume);
  if (print.time < s->newest) return;
  s->newest = print.time;
  std::vector<Price> prices{tick.bid, tick.ask, tick.price};
  if (last_of(*s).is_set() && tick.price < last_of(*s)) std::swap(prices[0], prices[1]);
  bool again = false;
  for (const Price price : prices) {
    if (price.micros <= 0 || (price == last_of(*s) && price != tick.price)) continue;
    print.price = price;
    offer(tick.symbol, print, said, std::exchange(again, true));
  }
}

void Oracle::snapshot(const Tick& tick, std::vector<std::string>& said) {
  const Session* session = nullptr;
  SymbolLine* const s = symbol_at(tick, session);
  if (s == nullptr) return;
  const bool more = tick.day_volume > s->volume.so_far;
  if (session->is_open(tick.time)) {
    believe_day_volume(*s, tick.time, tick.day_volume);
    const bool again = tick.day_volume.micros > 0 ? !more : tick.time <= s->newest;
    if (tick.time.ns < s->newest.ns - 2'000'000'000) return;
    s->newest = std::max(s->newest, tick.time);
    return offer(tick.symbol, tick, said, again);
  }
  if (!more || tick.time < session->close) return;
  believe_day_volume(*s, tick.time, tick.day_volume);  // the closing auction's
  if (s->close.is_set() || !last_of(*s).is_set() || far_from(tick.price, last_of(*s), guard_of(tick.symbol))) return;
  s->close = tick.price;
  move_high_low(tick.symbol, *s, tick.price);
}

/// The symbol's day that a correction of this time is about, or nothing; a day that is over is one, a day that is past
/// not.
Oracle::SymbolLine* Oracle::corrected(const Tick& tick) {
  const Session* session = calendar_->of(tick.time);
  if (session == nullptr || calendar_->local_date(tick.time) < calendar_->local_date(now_)) return nullptr;
  const auto it = symbols_.find(tick.symbol);
  if (it == symbols_.end() || it->second.day != session->day) return nullptr;
  return with_plan(tick.symbol, it->second);
}

void Oracle::cancel(const Tick& tick, std::vector<std::string>& said) {
  SymbolLine* const s = corrected(tick);
  if (s == nullptr) return;
  change_volume(*s, tick, Shares{-tick.size.micros});
  undo(*s, tick, said);
  if (s->ended) write_day(tick.symbol, said);
}

void Oracle::correct(const Tick& tick, std::vector<std::string>& said) {
  SymbolLine* const s = corrected(tick);
  if (s == nullptr) return;
  if (tick.bid_size.micros > 0) change_volume(*s, tick, Shares{tick.size.micros - tick.bid_size.micros});
  Tick old = tick;
  old.price = tick.bid;
  if (tick.price != tick.bid) undo(*s, old, said);
  if (s->ended) write_day(tick.symbol, said);
}

void Oracle::change_volume(SymbolLine& s, const Tick& tick, Shares by) {
  if (!column_of(tick.conditions).volume || s.volume.so_far.micros + by.micros < 0) return;
  if (s.volume.so_far > kBelievable) return;
  const char listing = watches_of(tick.symbol)[0]->watch.listing;
  const bool there = listing == 0 || tick.exchange == 0 || tick.exchange == listing;
  const bool in_hours = calendar_->on(s.day)->is_open(tick.time) || (has(tick.conditions, '6') && there);
  const bool by_id = tick.id != 0 && !has(tick.conditions, 'T');
  if (!in_hours && !by_id && !extended_volume) return;
  const int minute = static_cast<int>(minutes(s, tick.time) + 1e-12);
  if (minute > s.volume.minute) s.volume.so_far += by;
  else s.volume.add(minute, by);
}

void Oracle::undo(SymbolLine& s, const Tick& tick, std::vector<std::string>& said) {
  if (!s.prices.empty() && same_trade(s.prices.back().tick, tick)) {
    const Price before = s.before;
    if (before.is_set()) s.last_override = before;
  }
  Tick when = tick;
  when.time = std::max(tick.time, s.newest);
  for (WatchLine* w : watches_of(tick.symbol)) {
    if ((w->watch.from && s.day < *w->watch.from) || (w->watch.until && s.day > *w->watch.until)) continue;
    if (w->crossing.time.is_set() && same_trade(w->crossing, tick)) {
      w->side = "under";
      w->armed = true;
      w->crossed_alive = w->told = w->loss_open = false;
      w->weight = Weight::unknown;
      w->crossing = w->event = Tick{};
      if (w->counts[NoticeKind::crossed] + w->counts[NoticeKind::opened_over] == 1) w->reached = {};
    } else if (w->event.time.is_set() && same_trade(w->event, tick)) {
      w->side = w->event_side;
      w->armed = w->event_armed;
      w->crossed_alive = w->event_alive;
      w->loss_open = w->event_loss;
      w->event = Tick{};
    } else {
      continue;
    }
    say(*w, s, NoticeKind::corrected, when, view(*w, s, when.time), said);
  }
}

void Oracle::status(const Tick& tick, std::vector<std::string>& said) {
  const Session* session = nullptr;
  SymbolLine* const s = symbol_at(tick, session);
  if (s == nullptr) return;
  const bool halted = !s->halts.empty() && !s->halts.back().second.is_set();
  if (tick.status == TradingStatus::none) return;
  const bool halts = tick.status != TradingStatus::trading;
  if (halts == halted) return;
  if (halts) s->halts.push_back({tick.time, {}});
  else s->halts.back().second = tick.time;
  Tick told = tick;
  if (tick.kind == TickKind::status) {
    told.price = last_of(*s);
  }
  for (WatchLine* w : watches_of(tick.symbol)) {
    if ((w->watch.from && s->day < *w->watch.from) || (w->watch.until && s->day > *w->watch.until)) continue;
    say(*w, *s, halts ? NoticeKind::halted : NoticeKind::resumed, told, view(*w, *s, tick.time), said);
  }
}

void Oracle::hole(const Tick& tick) {
  std::set<SymbolId> ids;
  for (const WatchLine& w : watches_) {
    const SymbolId id = names_.find(w.watch.symbol);
    if (tick.symbol == kNoSymbol || tick.symbol == id) ids.insert(id);
  }
  for (const SymbolId id : ids) {
    Tick at = tick;
    at.symbol = id;
    at.time = tick.received;
    const Session* session = nullptr;
    SymbolLine* const s = symbol_at(at, session);
    if (s == nullptr) continue;
    s->hole_since_last = !s->prices.empty();
    const double from = minutes(*s, tick.time), to = minutes(*s, tick.received);
    if (!(to > from)) continue;
    const double scale = 390 / session->minutes();
    s->missed_minutes += to - from;
    s->missed_to = to;
    const Curve& curve = s->plan.curve != nullptr ? *s->plan.curve : default_curve();
    s->missed_share += curve.at(to * scale) - curve.at(from * scale);
  }
}

}  // namespace brimwatch::test
