// One price against one watch, and the volume that a watch waits for.
#include <algorithm>
#include <cmath>

#include "support/oracle.h"
#include "volume/old_high.h"

namespace brimwatch::test {

void Oracle::say(WatchLine& w, SymbolLine& s, NoticeKind kind, const Tick& tick, const VolumeView& volume,
                 std::vector<std::string>& said, bool told) {
  const int count = ++w.counts[kind];
  if (!told) return;
  Notice n;
  n.kind = kind;
  n.watch = w.index;
  n.day = s.day;
  n.time = tick.time;
  n.price = tick.price;
  n.price_before = s.before;
  n.side = w.side == "under"    ? Side::under
           : w.side == "inside" ? Side::inside
           : w.side == "over"   ? Side::over
                                : Side::unknown;
  n.count = static_cast<std::uint16_t>(count);
  n.volume = volume;
  n.in_hole = s.hole_since_last && (kind == NoticeKind::crossed || kind == NoticeKind::opened_over);
  said.push_back(line_of(n));
}

VolumeView Oracle::view(const WatchLine& w, const SymbolLine& s, Timestamp time) const {
  VolumeView v;
  v.so_far = s.volume.so_far;
  v.missed_minutes = s.missed_minutes;
  if (!(s.plan.normal > 0) || time < calendar_->on(s.day)->open) return v;
  Moment m;
  m.minutes = minutes(s, time);
  m.missed_to = s.missed_to;
  m.missed_from = std::max(0.0, s.missed_to - s.missed_minutes);
  m.missed_share = s.missed_share;
  const bool deaf_at_open = s.missed_minutes > 0 && m.missed_from < 1;
  m.opening_missed = m.minutes >= 5 && !s.opening && !deaf_at_open && opening_heard_ == s.day;
  if (w.reached.is_set()) {
    int quiet = 0;
    for (const Session& one : calendar_->sessions()) quiet += one.day >= w.quiet_since && one.day < s.day;
    m.since_crossing = std::max(0.0, m.minutes - minutes(s, w.reached));
    m.lift = crossing_lift(age_of_high(s.plan.highs.get(), quiet, w.watch.pivot));
  }
  m.auction_due = !s.close.is_set();
  m.halted = calendar_->on(s.day)->elapsed(time) - m.minutes;
  v.odds = project(s.plan, s.volume, m, s.plan.normal * (1 + w.watch.rules.surge / 1e8)).odds;
  v.weight = v.odds >= w.watch.rules.odds_heavy   ? Weight::heavy
             : v.odds <= w.watch.rules.odds_light ? Weight::light
                                                  : Weight::unsettled;
  return v;
}

void Oracle::look(WatchLine& w, SymbolLine& s, const Tick& tick, bool first, bool again, std::vector<std::string>& said) {
  const Watch& watch = w.watch;
  if ((watch.from && s.day < *watch.from) || (watch.until && s.day > *watch.until)) return;
  const Rules& rules = watch.rules;
  const Price p = tick.price;
  const Price back = add_percent_down(watch.range_top, -rules.slip / 4);
  const WatchLine before = w;
  bool crossed = false, happened = false;
  const bool was_low = w.side == "under" || w.side == "unknown";
  if (was_low && p >= watch.pivot && !w.reached.is_set()) w.reached = first ? calendar_->on(s.day)->open : tick.time;
  if (was_low && p < watch.pivot) {
    w.side = "under";
    w.run.clear();
    w.run_opened_over = false;
  } else if (was_low && !w.armed) {
    w.side = p > watch.range_top ? "over" : "inside";
  } else if (was_low) {
    if (w.run.empty()) w.run_opened_over = p > watch.range_top && (first || w.side == "unknown");
    if (p <= watch.range_top) w.run_opened_over = false;
    if (!again || w.run.empty()) w.run.push_back(tick.time);
    const bool enough =
        w.run.size() >= rules.confirm_trades && tick.time - w.run.front() >= rules.confirm_seconds * kSecond;
    if (enough) {
      crossed = happened = true;
      const bool over = w.run_opened_over;
      w.told = w.counts[NoticeKind::crossed] + w.counts[NoticeKind::opened_over] < rules.per_day;
      w.side = over ? "over" : "inside";
      w.armed = false;
      w.crossed_alive = w.loss_open = true;
      w.arrived = w.faded = false;
      w.run.clear();
      w.run_opened_over = false;
      w.crossing = tick;
      w.event = Tick{};
      const VolumeView v = view(w, s, tick.time);
      w.weight = v.weight;
      s.judge_volume = {};
      say(w, s, over ? NoticeKind::opened_over : NoticeKind::crossed, tick, v, said, w.told);
    }
  }
  const auto follow = [&](NoticeKind kind) {
    happened = true;
    say(w, s, kind, tick, view(w, s, tick.time), said, w.told && w.counts[kind] < rules.per_day);
  };
  if (w.side == "inside" && p > watch.range_top) {
    w.side = "over";
    follow(NoticeKind::left_range);
  }
  if (w.side == "over" && p <= back) {
    w.side = "inside";
    if (p >= watch.pivot) follow(NoticeKind::back_inside);
  }
  if (p <= watch.slip_level) w.side = "under";
  if (p <= watch.slip_level && w.crossed_alive) {
    w.crossed_alive = false;
    follow(NoticeKind::fell_under);
  }
  if (p <= watch.loss_limit && w.loss_open) {
    w.loss_open = false;
    happened = true;
    say(w, s, NoticeKind::loss_limit, tick, view(w, s, tick.time), said);
  }
  if (p <= watch.rearm_level && !w.armed) {
    w.armed = true;
    w.side = "under";
  }
  if (happened && !crossed) {
    w.event = tick;
    w.event_side = before.side;
    w.event_armed = before.armed;
    w.event_alive = before.crossed_alive;
    w.event_loss = before.loss_open;
  }
}

void Oracle::judge(SymbolId id, const Tick& tick, std::vector<std::string>& said) {
  SymbolLine& s = symbols_[id];
  if (s.volume.so_far < s.judge_volume && tick.time < s.judge_time) return;
  double nearest = 2;
  for (const WatchLine* w : watches_of(id)) {
    if ((w->watch.from && s.day < *w->watch.from) || (w->watch.until && s.day > *w->watch.until)) continue;
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
    if ((w->watch.from && s.day < *w->watch.from) || (w->watch.until && s.day > *w->watch.until)) continue;
    if (!w->told || w->side != "inside" || w->weight == Weight::unknown) continue;
    if (w->crossing.time.ns / 5'000'000'000 == tick.time.ns / 5'000'000'000) continue;
    const VolumeView v = view(*w, s, tick.time);
    if (w->weight == Weight::heavy && !w->faded && v.weight == Weight::light) {
      w->faded = true;
      w->weight = v.weight;
      say(*w, s, NoticeKind::volume_faded, tick, v, said);
    } else if (w->weight != Weight::heavy && !w->arrived && v.weight == Weight::heavy) {
      w->arrived = true;
      w->weight = v.weight;
      say(*w, s, NoticeKind::volume_arrived, tick, v, said);
    }
  }
}

}  // namespace brimwatch::test
