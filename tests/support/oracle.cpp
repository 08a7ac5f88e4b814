#include "support/oracle.h"

#include <algorithm>
#include <cmath>
#include <sstream>

#include "support/oracle_prints.h"
#include "volume/day_total.h"

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
      << (n.last_today ? " last" : "") << " volume " << n.volume.so_far.micros << " weight " << to_string(n.volume.weight)
      << " odds " << std::lround(n.volume.odds * 1e6) << " missed " << std::lround(n.volume.missed_minutes * 1000)
      << (n.in_hole ? " blind" : "") << (n.held ? " held" : "") << (n.marked ? " marked" : "")
      << (n.doubtful ? " doubtful" : "") << (n.muted ? " muted" : "");
  // The journal keeps it of those only.
  if (n.kind == NoticeKind::gain || n.kind == NoticeKind::loss_limit) out << " bought " << n.bought.micros;
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
    if (w.listed && w.watch.symbol == names_.name(id)) out.push_back(&w);
  }
  std::stable_sort(out.begin(), out.end(), [](auto* a, auto* b) { return a->watch.pivot < b->watch.pivot; });
  return out;
}

void Oracle::take(const Tick& tick, std::vector<std::string>& said) {
  if (!is_sane(tick)) return;
  const Timestamp time = tick.kind == TickKind::hole ? tick.received : tick.time;
  if (tick.kind != TickKind::quote && (tick.symbol == kNoSymbol || !watches_of(tick.symbol).empty())) {
    confirm_by_the_clock(time, said);
    end_days(time, said);
  }
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
      return quote(tick, said);
  }
}

void Oracle::tell_time(Timestamp now, std::vector<std::string>& said) {
  confirm_by_the_clock(now - 2 * kSecond, said);
  end_days(now, said);
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

Price Oracle::before_last(const SymbolLine& s) { return s.recent.size() > 1 ? s.recent[1].price : s.previous_close; }

void Oracle::end_days(Timestamp now, std::vector<std::string>& said) {
  now_ = std::max(now_, now);
  std::set<Date> missed;
  for (auto& [id, s] : symbols_) {
    const bool is_over = !s.ended && s.day != Date{} && now_ >= calendar_->on(s.day)->close + 10 * kMinute;
    if (is_over && missed.insert(s.day).second) miss_the_end(s.day);
  }
  for (auto& [id, s] : symbols_) {
    if (s.ended || s.day == Date{}) continue;
    if (now_ >= calendar_->on(s.day)->close + 10 * kMinute) end_day(id, said);
  }
}

/// Nothing at all in the last quarter of an hour: nobody was heard, and that is no silence.
void Oracle::miss_the_end(Date day) {
  const Session& session = *calendar_->on(day);
  Timestamp heard;
  for (const auto& [id, s] : symbols_) {
    if (s.day == day && !s.ended) heard = std::max({heard, s.newest, s.newest_outside});
  }
  if (!heard.is_set() || session.close - heard <= 15 * kMinute) return;
  for (auto& [id, s] : symbols_) {
    if (s.day == day && !s.ended) add_unheard(s, std::max(heard, session.open), session.close);
  }
}

void Oracle::end_day(SymbolId id, std::vector<std::string>& said) {
  SymbolLine& s = symbols_[id];
  s.ended = true;
  s.held.reset();
  if (!s.last.is_set() && s.volume.so_far.micros == 0) return;
  with_plan(id, s);
  for (WatchLine* w : watches_of(id)) end_watch(*w, s, said);
  write_day(id, said);
}

/// By the official close; also of a watch that nothing happened to, when the close is its first pass of the pivot.
void Oracle::end_watch(WatchLine& w, SymbolLine& s, std::vector<std::string>& said) {
  bool news = false;
  if (w.silent) return;
  for (const auto& [kind, n] : w.counts) {
    news |= n > 0 && kind != NoticeKind::halted && kind != NoticeKind::resumed && kind != NoticeKind::day_end &&
            kind != NoticeKind::self_check;
  }
  Tick end;
  end.time = calendar_->on(s.day)->close + 10 * kMinute;
  end.price = s.closing ? s.closing->price : s.last;
  const bool above = end.price >= w.watch.pivot && is_active(w, s.day);
  const bool first = above && w.side == "under" && !w.crossed_alive;
  if (!news && !first && !(above && w.watch.rules.close_above) && !w.own.is_set()) return;
  VolumeView v;
  v.so_far = s.volume.so_far;
  v.missed_minutes = s.missed_minutes;
  const double wanted = s.plan.normal * (1 + w.watch.rules.surge / 1e8);
  if (s.plan.can_judge()) {
    v.odds = DayTotal(s.plan, {.so_far = v.so_far.as_double(), .final = true}).odds(wanted);
    v.weight = v.odds >= w.watch.rules.odds_heavy   ? Weight::heavy
               : v.odds <= w.watch.rules.odds_light ? Weight::light
                                                    : Weight::unsettled;
  }
  s.hole_since_last = false;
  Happening what{NoticeKind::day_end, true, false, ++w.counts[NoticeKind::day_end], "under"};
  if (end.price >= w.watch.pivot) what.side = end.price <= w.watch.range_top ? "inside" : "over";
  say(w, s, what, end, s.previous_close, v, said);
}

void Oracle::write_day(SymbolId id, std::vector<std::string>& said) {
  const SymbolLine& s = symbols_[id];
  DayRecord r;
  r.day = s.day;
  r.symbol = names_.name(id);
  r.half_day = calendar_->on(s.day)->half_day;
  r.volume = s.volume.so_far;
  r.coverage = std::clamp(1 - s.blind_share, 0.0, 1.0);
  if (s.opening) r.open = s.opening->price;
  if (!s.highs.empty()) r.high = s.highs[0].price;
  if (!s.lows.empty()) r.low = s.lows[0].price;
  r.close = s.closing ? s.closing->price : s.last;
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
    const Price last = s.last.is_set() ? s.last : s.previous_close;
    fresh.previous_close = s.closing ? s.closing->price : last;
  }
  for (const auto& halt : s.halts) {
    if (!halt.second.is_set()) fresh.halts.push_back(halt);
  }
  fresh.before_halt = s.before_halt;
  fresh.halt_told = s.halt_told;
  s = fresh;
  for (WatchLine* w : watches_of(tick.symbol)) {
    const bool was_there = w->reached.is_set() || w->side == "inside" || w->side == "over";
    if (was_there || !heard_yesterday || w->quiet_since == Date{}) w->quiet_since = session->day;
    w->reached = {};
    const bool waits_on = w->watch.rules.second_day && w->crossed_alive && w->told && w->weight != Weight::heavy;
    w->counts.clear();
    w->changes.clear();
    w->withdrawn = 0;
    w->doubtful = w->silent = false;
    w->weight = waits_on ? Weight::light : Weight::unknown;
    w->run.clear();
    w->run_opened_over = false;
    w->crossing_time = {};
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

/// Two seconds late at the most; but where the newest price stands alone ahead of the one before it, and three later ones
/// agree, the newest was stamped wrong.
bool Oracle::is_in_order(SymbolLine& s, Timestamp time) {
  const auto late = [time](Timestamp than) { return than - time > 2 * kSecond; };
  if (!late(s.newest)) {
    s.behind.clear();
    if (time > s.newest) s.newest_before = std::exchange(s.newest, time);
    return true;
  }
  if (late(s.newest_before)) return false;
  if (!s.behind.empty() && late(*std::max_element(s.behind.begin(), s.behind.end()))) return false;
  s.behind.push_back(time);
  if (s.behind.size() < 3) return false;
  s.newest = *std::max_element(s.behind.begin(), s.behind.end());
  s.behind.clear();
  return true;
}

void Oracle::trade(const Tick& tick, std::vector<std::string>& said) {
  const Session* session = nullptr;
  SymbolLine* const s = symbol_at(tick, session);
  if (s == nullptr) return;
  if (tick.id != 0) {
    const auto [seen, fresh] = s->ids.try_emplace({tick.id, tick.exchange}, tick.time);
    const std::int64_t seconds = std::abs(tick.time.ns / kSecond - seen->second.ns / kSecond);
    if (!fresh && seconds <= 600) return;
    seen->second = tick.time;
  }
  s->feed = tick.feed;
  const Column c = column_of(tick.conditions);
  if (!session->is_open(tick.time)) return outside(*s, tick, *session);
  if (s->volume.minute < 0 && c.auction) open_late(*s, tick.time);
  if (tick.day_volume.micros > 0) {
    const Shares before{tick.day_volume.micros - (c.volume ? tick.size.micros : 0)};
    look_at_first_count(*s, before);
    believe_day_volume(*s, tick.time, before);
  }
  if (c.volume) add_volume(*s, tick.time, tick.size);
  if (c.volume && has(tick.conditions, 'O')) s->opening_heard = true, opening_heard_ = s->day;
  if (!is_last_price(*s, tick, c)) return beside(*s, tick, c, said);
  if (is_in_order(*s, tick.time)) offer(tick.symbol, tick, said);
}

bool Oracle::is_last_price(const SymbolLine& s, const Tick& tick, const Column& c) {
  const bool first = !s.last.is_set();
  const char listing = watches_of(tick.symbol)[0]->watch.listing;
  const bool same = !first && tick.exchange != 0 && (tick.exchange == s.last_exchange || tick.exchange == listing);
  return c.last && (!c.first_only || first) && (!c.sold_last || first || same);
}

/// Moves no last price: the day's high and low it may, and an odd lot at a price that is held bears that one out.
void Oracle::beside(SymbolLine& s, const Tick& tick, const Column& c, std::vector<std::string>& said) {
  s.newest_outside = std::max(s.newest_outside, tick.time);
  if (s.newest - tick.time > 2 * kSecond) return;
  if (c.high_low) move_high_low(tick.symbol, s, tick);
  if (s.held && c.odd_lot && !is_far(tick.symbol, tick.price, s.held->price, guard_of(tick.symbol) / 2)) {
    const Tick held = *std::exchange(s.held, std::nullopt);
    if (tick.time - held.time <= 15 * kSecond) accept(tick.symbol, held, said);
  }
}

/// Before the open and after the close only the closing auction counts, and what corrects the close.
void Oracle::outside(SymbolLine& s, const Tick& tick, const Session& session) {
  const Column c = column_of(tick.conditions);
  const bool late = tick.time >= session.close, early = tick.time < session.open;
  const char listing = watches_of(tick.symbol)[0]->watch.listing;
  const bool there = listing == 0 || tick.exchange == 0 || tick.exchange == listing;
  const bool closing = late && ((has(tick.conditions, '6') && there) || is_auction_without_code(s, tick, session));
  s.newest_outside = std::max(s.newest_outside, tick.time);
  if (c.volume && !late && extended_volume) s.volume.so_far += tick.size;
  if (c.volume && late && (closing || extended_volume)) add_volume(s, tick.time, tick.size);
  if (c.volume && early && !extended_volume) s.outside_volume += tick.size;
  if (early && !extended_volume && tick.day_volume.micros > 0 && tick.day_volume <= kBelievable)
    s.count_before = tick.day_volume;
  const bool corrects = late && has(tick.conditions, '9');
  if (!c.last || !(closing || corrects)) return;
  const bool listing_s = listing != 0 && tick.exchange == listing;
  if (!corrects && !listing_s && s.closing && (s.close_is_listing_s || tick.size <= s.closing_size)) return;
  s.closing = tick;
  s.close_is_listing_s = listing_s;
  s.closing_size = std::max(s.closing_size, tick.size);
  if (c.high_low) move_high_low(tick.symbol, s, tick);
}

/// An opening auction minutes after the open: what lies before it was no trading.
void Oracle::open_late(SymbolLine& s, Timestamp time) {
  if (s.last.is_set() || minutes(s, time) <= 1 || !s.unheard.empty()) return;
  const bool halted = !s.halts.empty() && !s.halts.back().second.is_set();
  const Timestamp open = calendar_->on(s.day)->open;
  std::erase_if(s.halts, [](const auto& halt) { return halt.second.is_set(); });
  s.halts.insert(s.halts.begin(), {open, halted ? std::min(s.halts.back().first, time) : time});
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

namespace {

/// Three at the most, the outermost first; of equal ones the first.
void keep_outermost(std::vector<Tick>& all, const Tick& tick, bool high) {
  const auto at = std::find_if(all.begin(), all.end(),
                               [&](const Tick& one) { return high ? tick.price > one.price : tick.price < one.price; });
  all.insert(at, tick);
  if (all.size() > 3) all.pop_back();
}

}  // namespace

void Oracle::move_high_low(SymbolId id, SymbolLine& s, const Tick& tick) {
  if (!s.last.is_set() || is_far(id, tick.price, s.last, guard_of(id))) return;
  keep_outermost(s.highs, tick, true);
  keep_outermost(s.lows, tick, false);
}

double Oracle::guard_of(SymbolId id) {
  double guard = 1e12;
  for (const WatchLine* w : watches_of(id)) {
    if (w->watch.rules.bad_print > 0) guard = std::min(guard, w->watch.rules.bad_print / 1e6);
  }
  return guard;
}

bool Oracle::is_far(SymbolId id, Price a, Price b, double percent) {
  std::int64_t tick = 0;
  for (const WatchLine* w : watches_of(id)) {
    const Rules& rules = w->watch.rules;
    const std::int64_t own = rules.tick_size.is_set()
                                 ? rules.tick_size.micros
                                 : std::max<std::int64_t>(tick_at(rules.tick_table, w->watch.pivot).micros, 10'000);
    tick = std::max(tick, own);
  }
  const double apart = std::fabs(static_cast<double>(a.micros - b.micros));
  return apart > 2.0 * static_cast<double>(tick) && apart * 100 > static_cast<double>(b.micros) * percent;
}

bool Oracle::trusts_auctions(SymbolId id) {
  bool all = true;
  for (const WatchLine* w : watches_of(id)) all &= w->watch.rules.trust_auctions;
  return all;
}

void Oracle::offer(SymbolId id, const Tick& tick, std::vector<std::string>& said, bool again) {
  SymbolLine& s = symbols_[id];
  const double guard = guard_of(id);
  if (s.held) {
    const Tick held = *s.held;
    const bool agrees = !is_far(id, tick.price, held.price, guard / 2);
    const bool slow = tick.time - held.time > 15 * kSecond;
    const bool others = !s.recent.empty() && s.recent[0].time > held.time;
    if (agrees && again) return;
    if (slow || agrees) s.held.reset();
    if (agrees && !(slow && others)) {
      if (!slow) accept(id, held, said);
      accept(id, tick, said, again);
      return;
    }
  }
  const Price last = s.last.is_set() ? s.last : s.previous_close;
  const bool trusted = tick.kind == TickKind::trade && column_of(tick.conditions).auction && trusts_auctions(id);
  if (last.is_set() && !trusted && is_far(id, tick.price, last, guard)) {
    s.held = tick;
    return;
  }
  accept(id, tick, said, again);
}

void Oracle::accept(SymbolId id, const Tick& tick, std::vector<std::string>& said, bool again) {
  SymbolLine& s = symbols_[id];
  const bool first = !s.last.is_set();
  s.recent.push_front(tick);
  if (s.recent.size() > 4) s.recent.pop_back();
  s.last = tick.price;
  s.last_exchange = tick.exchange;
  if (first) s.opening = tick;
  keep_outermost(s.highs, tick, true);
  keep_outermost(s.lows, tick, false);
  if (first) look_for_split(id, tick, said);
  trade_again(id, tick, said);
  for (WatchLine* w : watches_of(id)) look(*w, s, tick, first, again, said);
  s.hole_since_last = false;
  const Timestamp before = s.recent.size() > 1 ? s.recent[1].time : Timestamp{};
  if (tick.time.ns / 5'000'000'000 != before.ns / 5'000'000'000) judge(id, tick, said);
}

}  // namespace brimwatch::test
