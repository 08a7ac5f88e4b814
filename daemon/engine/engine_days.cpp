#include <algorithm>
#include <cmath>

#include "engine/engine_impl.h"
#include "engine/judge.h"

namespace brimwatch {
namespace {

bool is_about_the_price(NoticeKind kind) {
  return is_urgent(kind) && kind != NoticeKind::halted && kind != NoticeKind::resumed;
}

/// A close from history; not set where there is none (0), or none that could be.
Price rounded(double close) { return close < 1e9 ? Price{std::llround(close * 1e6)} : Price{}; }

/// By the official close, not by where the last trade of the session stood.
Side side_of(Price close, const Levels& levels) {
  if (close < levels.pivot) return Side::under;
  return close <= levels.range_top ? Side::inside : Side::over;
}

bool has_news(const WatchMemory& memory) {
  for (std::size_t kind = 0; kind < memory.counts.size(); ++kind) {
    if (memory.counts[kind] > 0 && is_about_the_price(static_cast<NoticeKind>(kind))) return true;
  }
  return false;
}

}  // namespace

void Engine::Impl::move_clock(std::uint8_t clock, Timestamp time) {
  time = std::max(time, known_[clock]);
  if (time >= due_) confirm_due(time);  // before the day ends
  for (;;) {
    switch (clocks_[clock].step(time)) {
      case DayClock::Change::none:
        return;
      case DayClock::Change::day_over:
        miss_the_end(clock, clocks_[clock].day());
        end_days(clock, clocks_[clock].day() + 1);
        break;
      case DayClock::Change::new_date:
        end_days(clock, clocks_[clock].day());
        break;
    }
  }
}

/// Ends what is not ended of days before `before`; also of days that a restart has cut off.
void Engine::Impl::end_days(std::uint8_t clock, Date before) {
  for (SymbolId id = 0; id < book_.hot.size(); ++id) {
    const SymbolHot& hot = hot_of(id);
    if (hot.count == 0 || hot.clock != clock || hot.day == Date{} || hot.day >= before) continue;
    if (!cold_of(id).memory.ended) end_day(id);
  }
}

void Engine::Impl::begin_day(SymbolId id) {
  SymbolHot& hot = hot_of(id);
  const DayClock& clock = clock_of(hot);
  const Date day = clock.day();
  if (hot.day != Date{} && !cold_of(id).memory.ended) end_day(id);
  const bool follows = forget_day(id, day);
  make_plans(id, *clock.session());
  rebuild_triggers(id, follows);
  hot.is_stale = false;
  add_absence(id);
  mark(id);
}

/// The day's fields start anew. Of yesterday the close stays, and a halt that is not over.
bool Engine::Impl::forget_day(SymbolId id, Date day) {
  SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  const Session* const yesterday = clock_of(hot).calendar().before(day);
  const bool adjacent = yesterday != nullptr && yesterday->day == hot.day;
  const Price last = hot.last.is_set() ? hot.last : memory.previous_close;
  const Price close = memory.closing.price.is_set() ? memory.closing.price : last;
  SymbolMemory fresh;
  fresh.previous_close = adjacent ? close : Price{};
  fresh.halted_since = memory.halted_since;
  fresh.before_halt = memory.before_halt;
  fresh.halt_told = memory.halt_told;
  memory = fresh;
  hot.day = day;
  hot.last = {};
  hot.newest = {};
  hot.last_exchange = 0;
  hot.holding = false;
  hot.has_halts = memory.halted_since.is_set();
  hot.feed = kFeedUnknown;
  volume_of(id) = {};
  return adjacent;
}

void Engine::Impl::make_plans(SymbolId id, const Session& session) {
  SymbolCold& cold = cold_of(id);
  for (std::uint32_t g = 0; g < cold.group_count; ++g) {
    JudgeGroup& group = book_.groups[cold.first_group + g];
    group.plan = plan_for(id, group.watch, session);
    group.crossed_until = -1;
    if (!cold.memory.previous_close.is_set()) cold.memory.previous_close = rounded(group.plan.previous_close);
  }
  set_gap(id);
}

DayPlan Engine::Impl::plan_for(SymbolId id, std::uint32_t watch, const Session& session) const {
  DayPlan plan = plan_source_ ? plan_source_(id, watch, session) : DayPlan{};
  plan.gap = gap_of(id, plan);
  return plan;
}

void Engine::Impl::set_gap(SymbolId id) {
  const SymbolCold& cold = cold_of(id);
  for (std::uint32_t g = 0; g < cold.group_count; ++g) {
    DayPlan& plan = book_.groups[cold.first_group + g].plan;
    plan.gap = gap_of(id, plan);
  }
}

double Engine::Impl::gap_of(SymbolId id, const DayPlan& plan) const {
  const SymbolMemory& memory = cold_of(id).memory;
  // A file of daily bars that ends weeks ago: what the stock did since then is no gap of this morning.
  const bool is_old = plan.close_is_old && memory.previous_close == rounded(plan.previous_close);
  if (is_old || plan.split_listed) return -1;
  return opening_gap(memory.opening.price.as_double(), memory.previous_close.as_double(), plan.daily_sd);
}

/// After a restart or a new list: what the day already has is kept, what hangs on the list is made anew.
void Engine::Impl::catch_up(SymbolId id) {
  SymbolHot& hot = hot_of(id);
  make_plans(id, *clock_of(hot).session());
  rebuild_triggers(id);
  hot.is_stale = false;
  add_absence(id);
}

Nanos Engine::Impl::traded_time(SymbolId id, Timestamp time) const {
  const SymbolHot& hot = hot_of(id);
  const DayClock& clock = clock_of(hot);
  if (!hot.has_halts) return clock.elapsed(time);
  const SymbolMemory& memory = cold_of(id).memory;
  const bool halted = memory.halted_since.is_set() && time > memory.halted_since;
  return std::max<Nanos>(0, clock.elapsed(halted ? memory.halted_since : time) - memory.halted_for);
}

void Engine::Impl::end_day(SymbolId id) {
  SymbolHot& hot = hot_of(id);
  SymbolCold& cold = cold_of(id);
  cold.memory.ended = true;
  if (hot.holding) drop_held(id);
  mark(id);
  const Session* const session = clock_of(hot).calendar().on(hot.day);
  if (session == nullptr || !(hot.last.is_set() || volume_of(id).so_far > Shares{})) return;
  if (hot.is_stale) make_plans(id, *session);
  tell_day(id, *session);
  write_day_record(id, *session);
}

void Engine::Impl::tell_day(SymbolId id, const Session& session) {
  for (WatchSlot& slot : book_.watches(hot_of(id))) tell_day_of(slot, session);
}

void Engine::Impl::tell_day_of(WatchSlot& slot, const Session& session) {
  WatchMemory& m = slot.memory;
  auto& told = m.counts[static_cast<std::size_t>(NoticeKind::day_end)];
  const SymbolMemory& memory = book_.cold[slot.symbol].memory;
  Print end;
  end.price = memory.closing.price.is_set() ? memory.closing.price : book_.hot[slot.symbol].last;
  end.time = session.close + kDayEndAfter;
  const Side side = side_of(end.price, book_.levels(slot));
  const bool is_first = m.side == Side::under && !m.following && side != Side::under && slot.is_active(session.day);
  const bool asked = slot.is_active(session.day) && book_.rules[slot.rules].close_above && side != Side::under;
  if (m.day != session.day || told > 0 || m.silent || !(has_news(m) || is_first || asked || m.is_held())) return;
  Notice notice = make_notice(slot, NoticeKind::day_end, end);
  notice.side = side;
  if (is_first) notice.detail = kFirstAtClose;
  else if (m.is_held()) notice.detail = bought_at(m.bought);
  if (memory.halted_since.is_set()) notice.detail = kStillHalted;
  notice.price_before = memory.previous_close;
  notice.count = ++told;
  notice.volume = judge_final(book_.groups[slot.group].plan, book_.volume[slot.symbol], memory.missed_minutes,
                              book_.rules[slot.rules]);
  mark(slot);
  emit(std::move(notice));
}

void Engine::Impl::write_day_record(SymbolId id, const Session& session) {
  const SymbolHot& hot = hot_of(id);
  const SymbolMemory& memory = cold_of(id).memory;
  DayRecord record;
  record.day = hot.day;
  record.symbol = symbols_.name(id);
  record.volume = volume_of(id).so_far;
  record.coverage = std::clamp(1 - memory.blind_share, 0.0, 1.0);
  record.open = memory.opening.price;
  record.high = memory.day_high();
  record.low = memory.day_low();
  record.close = memory.closing.price.is_set() ? memory.closing.price : hot.last;
  record.half_day = session.half_day;
  const double total = record.volume.as_double();
  for (std::size_t k = 0; k < record.knots.size(); ++k) {
    const double share = k < memory.knots && total > 0 ? static_cast<double>(memory.knot_volume[k]) / 1e6 / total : 0;
    record.knots[k] = share > 0 ? std::log(share) : std::nan("");
  }
  sink_->on_day(record);
}

}  // namespace brimwatch
