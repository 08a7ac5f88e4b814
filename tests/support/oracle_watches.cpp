// One price against one watch, and the volume that a watch waits for.
#include <algorithm>
#include <cmath>

#include "support/oracle.h"
#include "volume/old_high.h"

namespace brimwatch::test {

void Oracle::say(const WatchLine& w, const SymbolLine& s, const Happening& what, const Tick& tick, Price before,
                 const VolumeView& volume, std::vector<std::string>& said) {
  Notice n;
  n.kind = what.kind;
  n.watch = w.index;
  n.day = s.day;
  n.time = tick.time;
  n.price = tick.price;
  n.price_before = before;
  n.side = what.side == "under"    ? Side::under
           : what.side == "inside" ? Side::inside
           : what.side == "over"   ? Side::over
                                   : Side::unknown;
  n.count = static_cast<std::uint16_t>(what.count);
  n.withdrawn = static_cast<std::uint16_t>(w.withdrawn);
  n.last_today = what.last_today;
  n.volume = volume;
  const bool of_price = what.kind <= NoticeKind::loss_limit || what.kind == NoticeKind::corrected;
  const bool crossing = what.kind == NoticeKind::crossed || what.kind == NoticeKind::opened_over;
  const bool of_money = what.kind == NoticeKind::gain || what.kind == NoticeKind::loss_limit;
  n.held = (w.held && of_price && !(w.own.is_set() && of_money)) ||
           (holds_back() && (crossing || what.kind == NoticeKind::volume_arrived));
  n.marked = trend_ == Trend::down && when_down_ == WhenDown::mark;
  n.doubtful = w.doubtful;
  const bool always = of_money || what.kind == NoticeKind::corrected || what.kind == NoticeKind::self_check;
  n.muted = (w.muted_till_under || tick.time < w.mute_end) && !(w.own.is_set() && always);
  n.bought = w.own;
  n.in_hole = s.hole_since_last && (what.kind == NoticeKind::crossed || what.kind == NoticeKind::opened_over);
  said.push_back(line_of(n));
}

/// Not where nobody knows what the source counts, nor where less than five minutes and less than what was missed were
/// heard.
bool Oracle::is_judged(const SymbolLine& s, Timestamp time) const {
  const double heard = minutes(s, time) - s.missed_minutes;
  return !s.count_unclear && (heard >= 5 || heard >= s.missed_minutes);
}

VolumeView Oracle::view(const WatchLine& w, const SymbolLine& s, Timestamp time) const {
  VolumeView v;
  v.so_far = s.volume.so_far;
  v.missed_minutes = s.missed_minutes;
  if (!(s.plan.normal > 0) || time < calendar_->on(s.day)->open || !is_judged(s, time)) return v;
  Moment m;
  m.minutes = minutes(s, time);
  m.missed_to = s.missed_to;
  m.missed_from = std::max(0.0, s.missed_to - s.missed_minutes);
  m.missed_share = s.missed_share;
  const bool deaf_at_open = s.missed_minutes > 0 && m.missed_from < 1;
  m.opening_missed = m.minutes >= 5 && !s.opening_heard && !deaf_at_open && opening_heard_ == s.day;
  if (w.reached.is_set()) {
    int quiet = 0;
    for (const Session& one : calendar_->sessions()) quiet += one.day >= w.quiet_since && one.day < s.day;
    m.since_crossing = std::max(0.0, m.minutes - minutes(s, w.reached));
    m.lift = crossing_lift(age_of_high(s.plan.highs.get(), quiet, w.watch.pivot));
  }
  m.auction_due = !s.closing.has_value();
  m.halted = calendar_->on(s.day)->elapsed(time) - m.minutes;
  v.odds = project(s.plan, s.volume, m, s.plan.normal * (1 + w.watch.rules.surge / 1e8)).odds;
  v.weight = v.odds >= w.watch.rules.odds_heavy   ? Weight::heavy
             : v.odds <= w.watch.rules.odds_light ? Weight::light
                                                  : Weight::unsettled;
  return v;
}

/// What one price does to a stand.
std::vector<Oracle::Happening> Oracle::step(Stand& w, const Watch& watch, Price own, const Tick& tick, bool first,
                                            bool again) const {
  std::vector<Happening> out;
  const Rules& rules = watch.rules;
  const Price p = tick.price, top = watch.range_top;
  const Price quarter_slip = add_percent_down(top, -rules.slip / 4);
  const Price fine_back = std::max(quarter_slip, Price{top.micros - (top.micros - watch.pivot.micros) / 4});
  const Price one_tick = rules.tick_size.is_set() ? rules.tick_size : tick_at(rules.tick_table, fine_back);
  const Price back = std::max(watch.pivot, Price{fine_back.micros / one_tick.micros * one_tick.micros});
  const auto happens = [&](NoticeKind kind, bool told, bool last = false) {
    out.push_back({kind, told, last, ++w.counts[kind], w.side});
  };
  const auto follows = [&](NoticeKind kind) { happens(kind, w.told && w.counts[kind] < rules.per_day); };
  const auto is_back = [&] {
    w.outside_said = w.never_inside = false;
    w.crossed_alive = true;
    follows(NoticeKind::back_inside);
  };
  const bool was_low = w.side == "under" || w.side == "unknown";
  const bool small = tick.kind == TickKind::trade && tick.size.micros > 0 &&
                     tick.size < Shares::whole(static_cast<std::int64_t>(rules.least_size));
  if (was_low && p < watch.pivot) {
    w.side = "under";
    w.run.clear();
    w.run_opened_over = false;
  } else if (was_low && !w.armed) {
    w.side = "inside";
    if (p <= top && w.outside_said) is_back();
  } else if (was_low && !small) {
    if (w.run.empty()) w.run_opened_over = p > top && (first || w.side == "unknown");
    if (p <= top) w.run_opened_over = false;
    if (!again || w.run.empty()) w.run.push_back(tick.time);
    if (w.run.size() >= rules.confirm_trades && tick.time - w.run.front() >= rules.confirm_seconds * kSecond) {
      const bool opened = w.run_opened_over, past = p > top;
      const int before = w.counts[NoticeKind::crossed] + w.counts[NoticeKind::opened_over];
      w.told = before < rules.per_day;
      w.side = past ? "over" : "inside";
      w.outside_said = w.never_inside = past;
      w.armed = false;
      w.crossed_alive = true;
      w.loss_open = w.loss_open || !own.is_set();
      w.arrived = w.faded = false;
      w.held = holds_back();
      w.weight = Weight::unknown;
      w.run.clear();
      w.run_opened_over = false;
      w.crossing_time = tick.time;
      happens(opened ? NoticeKind::opened_over : NoticeKind::crossed, w.told, before + 1 == rules.per_day);
    }
  }
  if (w.side == "inside" && p > top) {
    w.side = "over";
    w.outside_said = true;
    follows(NoticeKind::left_range);
  }
  if (w.side == "over" && p <= back) {
    w.side = p >= watch.pivot ? "inside" : "under";
    if (p >= watch.pivot) is_back();
    else if (w.never_inside) w.armed = true;
  }
  Price limit = watch.loss_limit;
  if (own.is_set()) {
    const Price exact = std::min(add_percent_down(own, -rules.loss), Price{own.micros - 1});
    limit = on_tick_down(rules, exact);
  }
  const bool lost = w.loss_open && p <= limit;
  if (p <= watch.slip_level) w.side = "under";
  if (p <= watch.slip_level && w.crossed_alive) {
    w.crossed_alive = false;
    w.outside_said = true;
    if (!lost) follows(NoticeKind::fell_under);
  }
  if (lost) {
    w.loss_open = false;
    happens(NoticeKind::loss_limit, true);
  }
  if (p <= watch.rearm_level && !w.armed) {
    w.armed = true;
    w.side = "under";
  }
  bool gained = false;
  for (const int percent : {rules.gain, rules.gain_more}) {
    if (!own.is_set() || percent == 0 || p < add_percent_down(own, percent)) continue;
    gained |= w.gains.insert(percent).second;
  }
  if (gained) happens(NoticeKind::gain, true);
  return out;
}

void Oracle::mute(std::size_t watch, Timestamp until, bool under_pivot) {
  watches_[watch].mute_end = until;
  watches_[watch].muted_till_under = under_pivot;
}

void Oracle::buy(std::size_t watch, Price own) {
  WatchLine& w = watches_[watch];
  if (!w.own.is_set()) w.loss_open = true, w.gains.clear();
  w.own = own;
  w.silent = false;  // of what is held nothing is left unsaid
}

void Oracle::sell(std::size_t watch) {
  WatchLine& w = watches_[watch];
  if (!w.own.is_set()) return;
  w.own = {};
  w.gains.clear();
  w.loss_open = w.crossed_alive;
}

void Oracle::drop(std::size_t watch) {
  WatchLine& w = watches_[watch];
  const auto stock = symbols_.find(names_.find(w.watch.symbol));
  w.left_on = stock == symbols_.end() ? Date{} : stock->second.day;
  w.listed = false;
  by_symbol_.clear();
}

void Oracle::add(std::size_t watch) {
  WatchLine& w = watches_[watch];
  Date today;
  for (const auto& [id, s] : symbols_) today = std::max(today, s.day);
  if (w.left_on < today || today == Date{}) {
    WatchLine fresh;
    fresh.watch = w.watch;
    fresh.index = w.index;
    w = fresh;
  }
  w.listed = true;
  w.mute_end = {};
  w.muted_till_under = false;
  by_symbol_.clear();
}

void Oracle::note_reached(WatchLine& w, const SymbolLine& s, const Tick& tick, bool first) const {
  const bool was_low = w.side == "under" || w.side == "unknown";
  if (!was_low || tick.price < w.watch.pivot || w.reached.is_set()) return;
  w.reached = first ? calendar_->on(s.day)->open : tick.time;
}

bool Oracle::is_change(const Stand& before, const Stand& after, const std::vector<Happening>& happened) {
  return !happened.empty() || before.run.size() != after.run.size() || before.armed != after.armed;
}

void Oracle::look(WatchLine& w, SymbolLine& s, const Tick& tick, bool first, bool again, std::vector<std::string>& said) {
  if (!is_active(w, s.day) || w.silent) return;
  const Change change{w, tick, before_last(s)};
  note_reached(w, s, tick, first);
  if (tick.price < w.watch.pivot) w.muted_till_under = false;
  const std::vector<Happening> happened = step(w, w.watch, w.own, tick, first, again);
  if (is_change(change.before, w, happened)) w.changes.push_back(change);
  if (!happened.empty()) say_all(w, s, tick, happened, said);
  release(w, s, tick, said);
}

void Oracle::say_all(WatchLine& w, SymbolLine& s, const Tick& tick, const std::vector<Happening>& happened,
                     std::vector<std::string>& said) {
  const bool crossed = happened[0].kind == NoticeKind::crossed || happened[0].kind == NoticeKind::opened_over;
  const VolumeView v = view(w, s, tick.time);
  if (crossed) {
    w.weight = v.weight;
    s.judge_volume = {};
  }
  for (const Happening& what : happened) {
    if (what.told) say(w, s, what, tick, before_last(s), v, said);
  }
}

/// A price that has stayed at or over the pivot long enough has crossed then.
void Oracle::confirm_by_the_clock(Timestamp now, std::vector<std::string>& said) {
  for (;;) {
    WatchLine* first = nullptr;
    SymbolLine* of = nullptr;
    Timestamp at;
    for (auto& [id, s] : symbols_) {
      if (s.ended || s.day == Date{}) continue;
      for (WatchLine* w : watches_of(id)) {
        const Rules& rules = w->watch.rules;
        if (w->run.empty() || w->run.size() < rules.confirm_trades) continue;
        const Timestamp due = w->run.front() + rules.confirm_seconds * kSecond;
        const bool possible = is_active(*w, s.day) && calendar_->on(s.day)->is_open(due) && s.last >= w->watch.pivot;
        if (!possible || due > now || (first != nullptr && due >= at)) continue;
        first = w, of = &s, at = due;
      }
    }
    if (first == nullptr) return;
    Tick tick = of->recent.empty() ? Tick{} : of->recent[0];
    tick.kind = TickKind::day;
    tick.price = of->last;
    tick.time = at;
    look(*first, *of, tick, false, true, said);
  }
}

void Oracle::judge(SymbolId id, const Tick& tick, std::vector<std::string>& said) {
  SymbolLine& s = symbols_[id];
  if (s.volume.so_far < s.judge_volume && tick.time < s.judge_time) return;
  if (!is_judged(s, tick.time)) return;
  double nearest = 2;
  for (const WatchLine* w : watches_of(id)) {
    if (!is_active(*w, s.day)) continue;
    const bool heavy = w->weight == Weight::heavy;
    if (!w->told || w->side != "inside" || w->weight == Weight::unknown || (heavy ? w->faded : w->arrived)) continue;
    const double odds = view(*w, s, tick.time).odds;
    nearest = std::min({nearest, 1.0, heavy ? odds - w->watch.rules.odds_light : w->watch.rules.odds_heavy - odds});
  }
  if (nearest == 2) return;  // nobody waits
  const bool far = nearest > 0.25;
  s.judge_volume = Shares{s.volume.so_far.micros + s.volume.so_far.micros / (far ? 16 : 50)};
  s.judge_time = tick.time + (far ? 10 : 2) * kMinute;
  for (WatchLine* w : watches_of(id)) {
    if (!is_active(*w, s.day) || !w->told || w->side != "inside" || w->weight == Weight::unknown) continue;
    const VolumeView v = view(*w, s, tick.time);
    const bool faded = w->weight == Weight::heavy && !w->faded && v.weight == Weight::light;
    const bool arrived = w->weight != Weight::heavy && !w->arrived && v.weight == Weight::heavy;
    if (arrived && tick.price < w->watch.pivot) {  // nobody may act on it there
      s.judge_volume = {};
      continue;
    }
    if (w->crossing_time.ns / 5'000'000'000 == tick.time.ns / 5'000'000'000 || (!faded && !arrived)) continue;
    (faded ? w->faded : w->arrived) = true;
    w->weight = v.weight;
    const NoticeKind kind = faded ? NoticeKind::volume_faded : NoticeKind::volume_arrived;
    say(*w, s, {kind, true, false, ++w->counts[kind], w->side}, tick, before_last(s), v, said);
  }
}

}  // namespace brimwatch::test
