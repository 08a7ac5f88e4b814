// Cancels and corrections.
#include <algorithm>
#include <cmath>

#include "support/oracle.h"
#include "support/oracle_prints.h"

namespace brimwatch::test {

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
  undo(*s, tick, Price{}, said);
  if (s->ended) write_day(tick.symbol, said);
}

void Oracle::correct(const Tick& tick, std::vector<std::string>& said) {
  SymbolLine* const s = corrected(tick);
  if (s == nullptr) return;
  if (tick.bid_size.micros > 0) change_volume(*s, tick, Shares{tick.size.micros - tick.bid_size.micros});
  Tick old = tick;
  old.price = tick.bid;
  if (tick.price != tick.bid) undo(*s, old, tick.price, said);
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

/// The day's prices and each watch become what the tape says without the trade, or with its right price.
void Oracle::undo(SymbolLine& s, const Tick& tick, Price corrected, std::vector<std::string>& said) {
  const SymbolId id = tick.symbol;
  const bool is_last = !s.recent.empty() && same_trade(s.recent[0], tick);
  const Price beside = is_last ? before_last(s) : s.last;
  if (corrected.micros <= 0 || (beside.is_set() && is_far(id, corrected, beside, guard_of(id)))) corrected = {};
  Tick instead = tick;
  instead.kind = TickKind::trade;
  instead.price = corrected;
  if (s.held && same_trade(*s.held, tick)) {
    s.held.reset();
    instead.time = std::max(tick.time, s.newest);
    instead.conditions = {};
    if (corrected.is_set()) offer(id, instead, said);
    return;
  }
  const auto found =
      std::find_if(s.recent.begin(), s.recent.end(), [&](const Tick& one) { return same_trade(one, tick); });
  std::vector<Tick> still;  // what the tape says from that trade on
  if (found != s.recent.end()) instead.time = found->time, instead.exchange = found->exchange, instead.id = found->id;
  if (corrected.is_set()) still.push_back(instead);
  for (auto one = found; one != s.recent.begin();) {
    still.push_back(*--one);
    still.back().size = {};  // of those that came before nobody remembers it
  }
  undo_prices(id, s, tick, corrected);
  for (WatchLine* w : watches_of(id)) {
    if (is_active(*w, s.day)) undo_watch(*w, s, tick, still, corrected.is_set(), said);
  }
  Tick now = instead;
  now.time = std::max(tick.time, s.newest);
  if (!is_last || !corrected.is_set() || !calendar_->on(s.day)->is_open(now.time)) return;
  for (WatchLine* w : watches_of(id)) look(*w, s, now, false, true, said);
}

void Oracle::undo_prices(SymbolId id, SymbolLine& s, const Tick& tick, Price corrected) {
  const auto is_it = [&](const Tick& one) { return same_trade(one, tick); };
  Tick instead = tick;
  instead.price = corrected;
  for (std::vector<Tick>* outermost : {&s.highs, &s.lows}) {
    const auto at = std::find_if(outermost->begin(), outermost->end(), is_it);
    if (at != outermost->end()) outermost->erase(at);
  }
  const bool is_close = s.closing && is_it(*s.closing), is_opening = s.opening && is_it(*s.opening);
  if (is_close && corrected.is_set()) s.closing->price = corrected;
  if (is_close && !corrected.is_set()) s.closing.reset(), s.closing_size = {}, s.close_is_listing_s = false;
  const bool counts = is_close || calendar_->on(s.day)->is_open(tick.time);
  if (counts && is_opening && corrected.is_set()) s.opening->price = corrected;
  if (counts && corrected.is_set()) move_high_low(id, s, instead);
  const auto at = std::find_if(s.recent.begin(), s.recent.end(), is_it);
  if (at == s.recent.end()) return;
  if (corrected.is_set()) at->price = corrected;
  else s.recent.erase(at);
  if (!s.recent.empty()) {
    s.last = s.recent[0].price;
    s.last_exchange = s.recent[0].exchange;
  } else if (is_opening) {
    s.last = {};
    s.opening.reset();
  }
}

/// Back to before the trade, and then through what has come since: the changes that came of other trades, and the last
/// prices. What was said and still stands is not said again.
void Oracle::undo_watch(WatchLine& w, SymbolLine& s, const Tick& tick, const std::vector<Tick>& still, bool is_corrected,
                        std::vector<std::string>& said) {
  const std::size_t oldest = w.changes.size() > 8 ? w.changes.size() - 8 : 0;
  std::size_t at = w.changes.size();
  while (at > oldest && !same_trade(w.changes[at - 1].by, tick)) --at;
  if (at == oldest) return;
  const Change change = w.changes[--at];
  std::vector<Tick> since;
  auto next = still.begin();
  if (is_corrected) since.push_back(*next++);
  for (std::size_t i = at + 1; i < w.changes.size(); ++i) {
    if (next == still.end() || w.changes[i].by.time < next->time)
      since.push_back(w.changes[i].by), since.back().size = {};
  }
  since.insert(since.end(), next, still.end());
  const Stand was = w;
  w.changes.resize(at);
  static_cast<Stand&>(w) = change.before;
  struct Fresh {
    Tick by;
    std::vector<Happening> happened;
    Timestamp reached;  // as it was known then, and whether the crossing was held back
    bool held = false;
  };
  std::vector<Fresh> fresh;
  for (const Tick& one : since) {
    Change again{w, one, before_last(s)};
    note_reached(w, s, one, false);
    auto happened = step(w, w.watch, one, false, false);
    if (is_change(again.before, w, happened)) w.changes.push_back(again);
    std::erase_if(happened, [&](const Happening& what) {
      const auto known = was.counts.find(what.kind);
      return known != was.counts.end() && what.count <= known->second;
    });
    if (!happened.empty()) fresh.push_back({one, happened, w.reached, w.held});
  }
  const std::set<NoticeKind> of_prices{NoticeKind::crossed,     NoticeKind::opened_over, NoticeKind::left_range,
                                       NoticeKind::back_inside, NoticeKind::fell_under,  NoticeKind::loss_limit};
  const auto number = [](const Stand& stand, NoticeKind kind) {
    const auto known = stand.counts.find(kind);
    return known == stand.counts.end() ? 0 : known->second;
  };
  bool stands = w.side == was.side && w.crossed_alive == was.crossed_alive && w.loss_open == was.loss_open;
  int back = 0;
  for (const NoticeKind kind : of_prices) {
    stands &= number(w, kind) == number(was, kind);
    back = std::max(back, number(was, kind) - number(w, kind));
  }
  const auto crossings = [&](const Stand& stand) {
    return number(stand, NoticeKind::crossed) + number(stand, NoticeKind::opened_over);
  };
  for (const auto& [kind, n] : was.counts) {
    if (!of_prices.contains(kind)) w.counts[kind] = n;
  }
  if (crossings(w) == crossings(was)) {
    w.weight = was.weight, w.arrived = was.arrived, w.faded = was.faded, w.crossing_time = was.crossing_time;
    w.held = was.held;
  }
  w.withdrawn += back;
  if (!stands) {
    Tick when = tick;
    when.time = std::max(tick.time, s.newest);
    const Happening what{NoticeKind::corrected, true, false, ++w.counts[NoticeKind::corrected], w.side};
    const bool held = std::exchange(w.held, was.held);
    say(w, s, what, when, change.price_before, view(w, s, when.time), said);
    w.held = held;
  }
  const Timestamp reached = w.reached;
  const bool held = w.held;
  for (const Fresh& one : fresh) {
    w.reached = one.reached;
    w.held = one.held;
    say_all(w, s, one.by, one.happened, said);
  }
  w.reached = reached;
  w.held = held;
}

}  // namespace brimwatch::test
