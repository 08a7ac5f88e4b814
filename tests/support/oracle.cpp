#include "support/oracle.h"

#include <algorithm>
#include <cmath>
#include <sstream>

namespace brimwatch::test {
namespace {

constexpr Shares kBelievable = Shares::whole(4'000'000'000'000);  // of a day

struct Column {
  bool last, high_low, volume, first_only, sold_last;
};

// Tapes A and B, only the codes that the random tapes use.
Column column_of(const Conditions& conditions) {
  Column c{true, true, true, false, false};
  for (const char code : conditions.view()) {
    switch (code) {
      case 'F':
      case 'O':
      case '5':
      case '6':
        break;
      case 'I':
      case 'T':
      case 'B':
        c.last = c.high_low = false;
        break;
      case 'M':
        c.last = c.high_low = c.volume = false;
        break;
      case 'Z':
      case '4':
        c.first_only = true;
        break;
      case 'L':
        c.sold_last = true;
        break;
      case '9':
        c.volume = false;
        break;
      default:
        c.last = c.high_low = false;
    }
  }
  return c;
}

bool has(const Conditions& conditions, char code) { return conditions.view().find(code) != std::string_view::npos; }

bool far_from(Price a, Price b, double percent) {
  return std::fabs(static_cast<double>(a.micros - b.micros)) * 100 > static_cast<double>(b.micros) * percent;
}

bool same_trade(const Tick& a, const Tick& b) {
  if (a.id == 0 || b.id == 0) return a.price == b.price && a.time == b.time;
  return a.id == b.id && (a.exchange == 0 || b.exchange == 0 || a.exchange == b.exchange);
}

}  // namespace

Oracle::Oracle(const std::vector<Watch>& watches, std::shared_ptr<const Calendar> calendar, const SymbolTable& symbols)
    : calendar_(std::move(calendar)), names_(symbols) {
  for (std::uint32_t i = 0; i < watches.size(); ++i) {
    WatchLine line;
    line.watch = watches[i];
    line.index = i;
    watches_.push_back(line);
  }
}

std::string Oracle::line_of(const Notice& n) {
  std::ostringstream out;
  out << to_string(n.kind) << " watch " << n.watch << " day " << n.day.days << " at " << n.time.ns << " price "
      << n.price.micros << " before " << n.price_before.micros << " side " << to_string(n.side) << " count " << n.count
      << " volume " << n.volume.so_far.micros << " weight " << to_string(n.volume.weight) << " odds "
      << std::lround(n.volume.odds * 1e6) << " missed " << std::lround(n.volume.missed_minutes * 1000)
      << (n.in_hole ? " blind" : "");
  return out.str();
}

std::string Oracle::line_of(const DayRecord& r) {
  std::ostringstream out;
  out << "day " << r.symbol << ' ' << r.day.days << (r.half_day ? " half" : "") << " volume " << r.volume.micros
      << " covered " << std::lround(r.coverage * 1e6) << " prices " << r.open.micros << ' ' << r.high.micros << ' '
      << r.low.micros << ' ' << r.close.micros << " knots";
  for (const double knot : r.knots) out << ' ' << (std::isnan(knot) ? 0 : std::lround(knot * 1e6));
  return out.str();
}

const std::vector<Oracle::WatchLine*>& Oracle::watches_of(SymbolId id) {
  const auto [at, fresh] = by_symbol_.try_emplace(id);
  std::vector<WatchLine*>& out = at->second;
  if (!fresh) return out;
  for (WatchLine& w : watches_) {
    if (w.watch.symbol == names_.name(id)) out.push_back(&w);
  }
  std::stable_sort(out.begin(), out.end(), [](auto* a, auto* b) { return a->watch.pivot < b->watch.pivot; });
  return out;
}

void Oracle::take(const Tick& tick, std::vector<std::string>& said) {
  if (!is_sane(tick)) return;
  const Timestamp time = tick.kind == TickKind::hole ? tick.received : tick.time;
  if (tick.kind != TickKind::quote && (tick.symbol == kNoSymbol || !watches_of(tick.symbol).empty()))
    end_days(time, said);
  switch (tick.kind) {
    case TickKind::trade:
      return trade(tick, said);
    case TickKind::cancel:
      return cancel(tick, said);
    case TickKind::status:
      return status(tick, said);
    case TickKind::hole:
      return hole(tick);
    case TickKind::correct:
      return correct(tick, said);
    case TickKind::bar:
      return bar(tick, said);
    case TickKind::day:
      return snapshot(tick, said);
    case TickKind::quote:
      return;
  }
}

bool Oracle::is_ahead(const Tick& tick) const {
  const double minutes_ahead = static_cast<double>(tick.time - tick.received) / 60e9;
  return tick.received.is_set() && minutes_ahead > 2 && minutes_ahead > 2 + static_cast<double>(lead_) / 60e9;
}

/// What cannot be is dropped. Of prices three in a row that seem to come from the future are believed.
bool Oracle::is_sane(const Tick& tick) {
  const auto possible = [](Shares size) { return size.micros >= 0 && size <= Shares::whole(10'000'000'000); };
  switch (tick.kind) {
    case TickKind::trade:
    case TickKind::bar:
    case TickKind::day:
      if (tick.price.micros <= 0 || tick.price.as_double() > 1e9 || !possible(tick.size)) return false;
      if (!tick.received.is_set()) return true;
      if (is_ahead(tick) && ++ahead_ < 3) return false;
      ahead_ = 0;
      lead_ = tick.time - tick.received;
      return true;
    case TickKind::cancel:
      return possible(tick.size) && !is_ahead(tick);
    case TickKind::correct:
      return possible(tick.size) && possible(tick.bid_size) && !is_ahead(tick);
    case TickKind::status:
      return !is_ahead(tick);
    case TickKind::hole:
    case TickKind::quote:
      return true;
  }
  return true;
}

Price Oracle::last_of(const SymbolLine& s) {
  return s.last_override.is_set() ? s.last_override : (s.prices.empty() ? Price{} : s.prices.back().price);
}

void Oracle::end_days(Timestamp now, std::vector<std::string>& said) {
  now_ = std::max(now_, now);
  for (auto& [id, s] : symbols_) {
    if (s.ended) continue;
    if (now_ >= calendar_->on(s.day)->close + 10 * kMinute) end_day(id, said);
  }
}

void Oracle::end_day(SymbolId id, std::vector<std::string>& said) {
  SymbolLine& s = symbols_[id];
  s.ended = true;
  s.held.reset();
  if (s.prices.empty() && s.volume.so_far.micros == 0) return;
  with_plan(id, s);
  for (WatchLine* w : watches_of(id)) {
    bool news = false;
    for (const auto& [kind, n] : w->counts) {
      news |= n > 0 && kind != NoticeKind::halted && kind != NoticeKind::resumed && kind != NoticeKind::day_end;
    }
    if (!news) continue;
    Tick end;
    end.time = calendar_->on(s.day)->close + 10 * kMinute;
    end.price = s.close.is_set() ? s.close : last_of(s);
    VolumeView v;
    v.so_far = s.volume.so_far;
    v.missed_minutes = s.missed_minutes;
    const double wanted = s.plan.normal * (1 + w->watch.rules.surge / 1e8);
    if (s.plan.normal > 0) {
      v.odds = v.so_far.as_double() >= wanted ? 1 : 0;
      v.weight = v.odds >= w->watch.rules.odds_heavy ? Weight::heavy : Weight::light;
    }
    s.before = s.previous_close;
    s.hole_since_last = false;
    say(*w, s, NoticeKind::day_end, end, v, said);
  }
  write_day(id, said);
}

void Oracle::write_day(SymbolId id, std::vector<std::string>& said) {
  const SymbolLine& s = symbols_[id];
  DayRecord r;
  r.day = s.day;
  r.symbol = names_.name(id);
  r.half_day = calendar_->on(s.day)->half_day;
  r.volume = s.volume.so_far;
  r.coverage = std::clamp(1 - s.missed_share - s.healed_share, 0.0, 1.0);
  r.open = s.open, r.high = s.high, r.low = s.low;
  r.close = s.close.is_set() ? s.close : last_of(s);
  r.knots.fill(std::nan(""));
  for (std::size_t k = 0; k < s.knots.size(); ++k) {
    if (s.knots[k] > 0) r.knots[k] = std::log(static_cast<double>(s.knots[k]) / static_cast<double>(r.volume.micros));
  }
  said.push_back(line_of(r));
}

/// The symbol with its day begun, or nothing when the tick belongs to no session.
Oracle::SymbolLine* Oracle::symbol_at(const Tick& tick, const Session*& session) {
  session = calendar_->of(tick.time);
  const bool past = calendar_->local_date(tick.time) < calendar_->local_date(now_);
  if (session == nullptr || past || now_ >= session->close + 10 * kMinute) return nullptr;
  if (watches_of(tick.symbol).empty()) return nullptr;
  SymbolLine& s = symbols_[tick.symbol];
  if (s.day == session->day) return with_plan(tick.symbol, s);
  SymbolLine fresh;
  fresh.day = session->day;
  const Session* yesterday = calendar_->before(session->day);
  if (yesterday != nullptr && yesterday->day == s.day) {
    const Price last = last_of(s).is_set() ? last_of(s) : s.previous_close;
    fresh.previous_close = s.close.is_set() ? s.close : last;
  }
  for (const auto& halt : s.halts) {
    if (!halt.second.is_set()) fresh.halts.push_back(halt);
  }
  s = fresh;
  for (WatchLine* w : watches_of(tick.symbol)) {
    w->counts.clear();
    w->weight = Weight::unknown;
    w->run.clear();
    w->run_opened_over = false;
    w->crossing = w->event = Tick{};
  }
  return with_plan(tick.symbol, s);
}

Oracle::SymbolLine* Oracle::with_plan(SymbolId id, SymbolLine& s) {
  if (!std::exchange(s.needs_plan, false)) return &s;
  const Session& session = *calendar_->on(s.day);
  const std::optional<Shares> normal = watches_of(id)[0]->watch.normal_volume;
  s.plan = plan_of ? plan_of(names_.name(id), normal.value_or(Shares{}), session)
                   : make_plan(session, {}, nullptr, normal, *calendar_);
  return &s;
}

void Oracle::forget_plans() {
  for (auto& [id, s] : symbols_) s.needs_plan = true;
}

void Oracle::restart() {
  forget_plans();
  lead_ = 0;
  ahead_ = 0;
}

double Oracle::minutes(const SymbolLine& s, Timestamp time) const {
  const Session& session = *calendar_->on(s.day);
  Timestamp t = time;
  double off = 0;
  for (const auto& [from, to] : s.halts) {
    if (!to.is_set()) t = std::min(t, from);
    else off += std::max(0.0, session.elapsed(to) - session.elapsed(from));
  }
  return std::max(0.0, session.elapsed(t) - off);
}

void Oracle::trade(const Tick& tick, std::vector<std::string>& said) {
  const Session* session = nullptr;
  SymbolLine* const s = symbol_at(tick, session);
  if (s == nullptr) return;
  if (tick.id != 0) {
    const auto key = std::make_pair(tick.id, tick.exchange);
    if (std::find(s->ids.begin(), s->ids.end(), key) != s->ids.end()) return;
    s->ids.push_front(key);
    if (s->ids.size() > 8) s->ids.pop_back();
  }
  const Column c = column_of(tick.conditions);
  if (!session->is_open(tick.time)) return outside(*s, tick, *session);
  if (tick.day_volume.micros > 0) {
    believe_day_volume(*s, tick.time, Shares{tick.day_volume.micros - (c.volume ? tick.size.micros : 0)});
  }
  if (c.volume) add_volume(*s, tick.time, tick.size);
  if (tick.time.ns < s->newest.ns - 2'000'000'000) return;
  const bool first = s->prices.empty();
  const char listing = watches_of(tick.symbol)[0]->watch.listing;
  const bool same =
      !first && tick.exchange != 0 && (tick.exchange == s->prices.back().tick.exchange || tick.exchange == listing);
  s->newest = std::max(s->newest, tick.time);
  if (c.last && (!c.first_only || first) && (!c.sold_last || first || same)) return offer(tick.symbol, tick, said);
  if (c.high_low) move_high_low(tick.symbol, *s, tick.price);
}

/// Before the open and after the close only the closing auction counts, and what corrects the close.
void Oracle::outside(SymbolLine& s, const Tick& tick, const Session& session) {
  const Column c = column_of(tick.conditions);
  const bool late = tick.time >= session.close;
  const char listing = watches_of(tick.symbol)[0]->watch.listing;
  const bool there = listing == 0 || tick.exchange == 0 || tick.exchange == listing;
  const bool closing = late && has(tick.conditions, '6') && there;
  if (c.volume && !late && extended_volume) s.volume.so_far += tick.size;
  if (c.volume && late && (closing || extended_volume)) add_volume(s, tick.time, tick.size);
  const bool corrects = late && has(tick.conditions, '9');
  if (!c.last || !(closing || corrects)) return;
  s.close = tick.price;
  if (c.high_low) move_high_low(tick.symbol, s, tick.price);
}

void Oracle::add_volume(SymbolLine& s, Timestamp time, Shares size) {
  if (s.volume.so_far > kBelievable) return;
  const int minute = static_cast<int>(minutes(s, time) + 1e-12);
  pass_knots(s, minute);
  s.volume.add(minute, size);
}

void Oracle::pass_knots(SymbolLine& s, int minute) {
  if (minute <= s.volume.minute) return;
  const double of_full_day = minute * 390 / calendar_->on(s.day)->minutes();
  while (s.knots.size() < kKnotMinutes.size() && kKnotMinutes[s.knots.size()] <= of_full_day) {
    s.knots.push_back(s.volume.so_far.micros);
  }
}

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

void Oracle::move_high_low(SymbolId id, SymbolLine& s, Price price) {
  if (!last_of(s).is_set() || far_from(price, last_of(s), guard_of(id))) return;
  s.high = std::max(s.high, price);
  s.low = std::min(s.low, price);
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

double Oracle::guard_of(SymbolId id) {
  double guard = 1e12;
  for (const WatchLine* w : watches_of(id)) {
    if (w->watch.rules.bad_print > 0) guard = std::min(guard, w->watch.rules.bad_print / 1e6);
  }
  return guard;
}

void Oracle::offer(SymbolId id, const Tick& tick, std::vector<std::string>& said, bool again) {
  SymbolLine& s = symbols_[id];
  const double guard = guard_of(id);
  if (s.held) {
    const Tick held = *s.held;
    const bool agrees = !far_from(tick.price, held.price, guard / 2);
    if (agrees && again) return;
    s.held.reset();
    if (agrees) {
      accept(id, held, said);
      accept(id, tick, said, again);
      return;
    }
  }
  const Price last = last_of(s).is_set() ? last_of(s) : s.previous_close;
  if (last.is_set() && far_from(tick.price, last, guard)) {
    s.held = tick;
    return;
  }
  accept(id, tick, said, again);
}

void Oracle::accept(SymbolId id, const Tick& tick, std::vector<std::string>& said, bool again) {
  SymbolLine& s = symbols_[id];
  const bool first = s.prices.empty();
  s.before = first ? s.previous_close : last_of(s);
  s.prices.push_back({tick.price, tick});
  s.last_override = {};
  if (first) s.open = s.high = s.low = tick.price;
  s.high = std::max(s.high, tick.price);
  s.low = std::min(s.low, tick.price);
  if (!s.halts.empty() && !s.halts.back().second.is_set() && tick.time - s.halts.back().first >= 10 * kSecond) {
    Tick resumed = tick;
    resumed.kind = TickKind::status;
    resumed.status = TradingStatus::trading;
    status(resumed, said);
  }
  for (WatchLine* w : watches_of(id)) look(*w, s, tick, first, again, said);
  s.hole_since_last = false;
  const bool new_slot = tick.time.ns / 5'000'000'000 != s.last_price_time.ns / 5'000'000'000;
  s.last_price_time = tick.time;
  if (new_slot) judge(id, tick, said);
}

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

VolumeView Oracle::view(const WatchLine& w, const SymbolLine& s, Timestamp time, bool at_crossing) const {
  VolumeView v;
  v.so_far = s.volume.so_far;
  v.missed_minutes = s.missed_minutes;
  if (!(s.plan.normal > 0) || time < calendar_->on(s.day)->open) return v;
  Moment m;
  m.minutes = minutes(s, time);
  m.missed_to = s.missed_to;
  m.missed_from = std::max(0.0, s.missed_to - s.missed_minutes);
  m.missed_share = s.missed_share;
  m.at_crossing = at_crossing;
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
      const VolumeView v = view(w, s, tick.time, true);
      w.weight = v.weight;
      s.judge_volume = {};
      say(w, s, over ? NoticeKind::opened_over : NoticeKind::crossed, tick, v, said, w.told);
    }
  }
  const auto follow = [&](NoticeKind kind) {
    happened = true;
    say(w, s, kind, tick, view(w, s, tick.time, crossed), said, w.told && w.counts[kind] < rules.per_day);
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
    say(w, s, NoticeKind::loss_limit, tick, view(w, s, tick.time, crossed), said);
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
    const double odds = view(*w, s, tick.time, false).odds;
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
    const VolumeView v = view(*w, s, tick.time, false);
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
    } else if (w->event.time.is_set() && same_trade(w->event, tick)) {
      w->side = w->event_side;
      w->armed = w->event_armed;
      w->crossed_alive = w->event_alive;
      w->loss_open = w->event_loss;
      w->event = Tick{};
    } else {
      continue;
    }
    say(*w, s, NoticeKind::corrected, when, view(*w, s, when.time, false), said);
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
    say(*w, *s, halts ? NoticeKind::halted : NoticeKind::resumed, told, view(*w, *s, tick.time, false), said);
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
