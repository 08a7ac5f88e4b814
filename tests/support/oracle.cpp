#include "support/oracle.h"

#include <algorithm>
#include <cmath>
#include <sstream>

#include "support/oracle_prints.h"

namespace brimwatch::test {

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
  const bool heard_yesterday = yesterday != nullptr && yesterday->day == s.day;
  if (heard_yesterday) {
    const Price last = last_of(s).is_set() ? last_of(s) : s.previous_close;
    fresh.previous_close = s.close.is_set() ? s.close : last;
  }
  for (const auto& halt : s.halts) {
    if (!halt.second.is_set()) fresh.halts.push_back(halt);
  }
  s = fresh;
  for (WatchLine* w : watches_of(tick.symbol)) {
    const bool was_there = w->reached.is_set() || w->side == "inside" || w->side == "over";
    if (was_there || !heard_yesterday || w->quiet_since == Date{}) w->quiet_since = session->day;
    w->reached = {};
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
  if (c.volume && has(tick.conditions, 'O')) s->opening = true, opening_heard_ = s->day;
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

void Oracle::move_high_low(SymbolId id, SymbolLine& s, Price price) {
  if (!last_of(s).is_set() || far_from(price, last_of(s), guard_of(id))) return;
  s.high = std::max(s.high, price);
  s.low = std::min(s.low, price);
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

}  // namespace brimwatch::test
