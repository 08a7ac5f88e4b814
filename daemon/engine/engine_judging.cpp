#include <algorithm>

#include "engine/engine_impl.h"
#include "engine/judge.h"
#include "engine/pivot_days.h"
#include "volume/circumstances.h"

namespace brimwatch {
namespace {

enum class Waits : std::uint8_t { no, heavy, light };

/// What a watch waits for: the other judgement than the one last told, while the price is in the range.
Waits waits(const WatchMemory& m) {
  if (!m.told || m.silent || m.side != Side::inside) return Waits::no;
  switch (m.weight_said) {
    case Weight::unknown:
      return Waits::no;
    case Weight::heavy:
      return m.faded_told ? Waits::no : Waits::light;
    case Weight::light:
    case Weight::unsettled:
      return m.arrived_told ? Waits::no : Waits::heavy;
  }
  return Waits::no;
}

constexpr double kHeardLeast = 5;  ///< minutes; a judgement: the first ones after a hole say little of the day

}  // namespace

void Engine::Impl::count_waiting(SymbolHot& hot, const WatchSlot& slot, int by) {
  if (!slot.is_active(hot.day)) return;
  JudgeGroup& group = book_.groups[slot.group];
  const auto change = static_cast<std::uint32_t>(by);
  switch (waits(slot.memory)) {
    case Waits::no:
      return;
    case Waits::heavy:
      group.await_heavy += change;
      break;
    case Waits::light:
      group.await_light += change;
      break;
  }
  hot.waiting += change;
}

/// How far the odds of a watch that waits are from those that it waits for; 1 at the most, and where it does not wait.
double Engine::Impl::odds_to_spare(const WatchSlot& slot, const Moment& moment) const {
  const Waits wants = slot.is_active(book_.hot[slot.symbol].day) ? waits(slot.memory) : Waits::no;
  if (wants == Waits::no) return 1;
  const Rules& rules = book_.rules[slot.rules];
  const DayPlan& plan = book_.groups[slot.group].plan;
  const double odds =
      project_odds(plan, volume_of(slot.symbol), moment_of(slot, plan, moment), wanted_volume(plan, rules));
  return std::min(1.0, wants == Waits::heavy ? rules.odds_heavy - odds : odds - rules.odds_light);
}

/// While some watch waits: has the volume arrived, or faded? Those whose group has a fresh crossing are looked at one by
/// one, the others group by group: with 125 watches a symbol the walk through all would more than double a tick's cost.
void Engine::Impl::judge_waiting(SymbolId id, const Print& print) {
  SymbolHot& hot = hot_of(id);
  SymbolCold& cold = cold_of(id);
  SymbolMemory& memory = cold.memory;
  const Shares so_far = volume_of(id).so_far;
  if (so_far < memory.judge_volume && print.time < memory.judge_time) return;
  const Moment moment = moment_at(id, print.time);
  if (why_not(id, moment) != NoJudgement::none) return;
  bool any = false, fresh = false;
  double nearest = 1;
  for (std::uint32_t g = 0; g < cold.group_count; ++g) {
    JudgeGroup& group = book_.groups[cold.first_group + g];
    group.now = Weight::unknown;
    if (group.await_heavy + group.await_light == 0) continue;
    fresh |= moment.minutes <= group.crossed_until;
    if (moment.minutes <= group.crossed_until) continue;
    const Rules& rules = book_.rules[group.rules];
    const double odds = project_odds(group.plan, volume_of(id), moment, wanted_volume(group.plan, rules));
    group.now = weigh(odds, rules);
    if (group.await_heavy > 0) nearest = std::min(nearest, rules.odds_heavy - odds);
    if (group.await_light > 0) nearest = std::min(nearest, odds - rules.odds_light);
    any |= (group.now == Weight::heavy && group.await_heavy > 0) || (group.now == Weight::light && group.await_light > 0);
  }
  if (fresh) {
    for (const WatchSlot& slot : book_.watches(hot)) {
      if (moment.minutes <= book_.groups[slot.group].crossed_until)
        nearest = std::min(nearest, odds_to_spare(slot, moment));
    }
  }
  const JudgePause& pause = nearest > kJudgeFar ? kPauseFar : kPauseNear;
  memory.judge_volume.micros = so_far.micros + so_far.micros / pause.growth;
  memory.judge_time = print.time + pause.longest;
  if (!any && !(fresh && nearest <= 0)) return;
  for (WatchSlot& slot : book_.watches(hot)) judge_one(hot, slot, print);
}

/// Of one watch, where its group is not judged as one.
Weight Engine::Impl::weight_of(const WatchSlot& slot, const Moment& moment) const {
  const JudgeGroup& group = book_.groups[slot.group];
  if (moment.minutes > group.crossed_until) return group.now;
  return judge_weight(group.plan, volume_of(slot.symbol), moment_of(slot, group.plan, moment), book_.rules[slot.rules]);
}

/// Volume that arrives is for a price at which it may be acted on; until the price is there, it is looked at again.
void Engine::Impl::judge_one(SymbolHot& hot, WatchSlot& slot, const Print& print) {
  WatchMemory& m = slot.memory;
  const Waits wants = slot.is_active(hot.day) ? waits(m) : Waits::no;
  if (wants == Waits::no) return;
  const Weight now = weight_of(slot, moment_at(slot.symbol, print.time));
  const bool arrived = wants == Waits::heavy && now == Weight::heavy;
  const bool faded = wants == Waits::light && now == Weight::light;
  if (!arrived && !faded) return;
  if (arrived && print.price < slot.pivot_now) {
    cold_of(slot.symbol).memory.judge_volume = {};
    return;
  }
  if (m.crossing_time.ns / kJudgeEvery == print.time.ns / kJudgeEvery) return;  // it has just been said with the crossing
  count_waiting(hot, slot, -1);
  (arrived ? m.arrived_told : m.faded_told) = true;
  m.weight_said = now;
  const NoticeKind kind = arrived ? NoticeKind::volume_arrived : NoticeKind::volume_faded;
  Notice notice = make_notice(slot, kind, print);
  notice.count = count_one(slot, kind);
  notice.volume = volume_at(slot, print.time);
  emit(std::move(notice));
  count_waiting(hot, slot, +1);
}

double Engine::Impl::minute_at(SymbolId id, Timestamp time) const {
  return static_cast<double>(traded_time(id, time)) / static_cast<double>(kMinute);
}

/// By 9:35 an opening print has come, on a feed that tells those of other symbols; unless the feed was blind at the open.
bool Engine::Impl::opening_missed(SymbolId id, double minute) const {
  constexpr double kBy = 5, kOpening = 1;  // minutes
  const SymbolMemory& memory = cold_of(id).memory;
  const bool blind = memory.missed_minutes > 0 && memory.missed_from < kOpening;
  return minute >= kBy && !memory.opening_seen && !blind && opening_heard_ == hot_of(id).day;
}

Moment Engine::Impl::moment_at(SymbolId id, Timestamp time) const {
  const SymbolMemory& memory = cold_of(id).memory;
  Moment moment;
  moment.minutes = minute_at(id, time);
  moment.missed_from = memory.missed_from;
  moment.missed_to = memory.missed_to;
  moment.missed_share = memory.missed_share;
  moment.auction_due = !memory.closing.price.is_set();
  moment.opening_missed = opening_missed(id, moment.minutes);
  moment.halted =
      static_cast<double>(clock_of(hot_of(id)).elapsed(time) - traded_time(id, time)) / static_cast<double>(kMinute);
  return moment;
}

Moment Engine::Impl::moment_of(const WatchSlot& slot, const DayPlan& plan, Moment moment) const {
  const WatchMemory& memory = slot.memory;
  const SymbolHot& hot = book_.hot[slot.symbol];
  if (!memory.reached.is_set() || memory.day != hot.day) return moment;
  const double since = std::max(0.0, moment.minutes - minute_at(slot.symbol, memory.reached));
  set_crossing(moment, memory, slot.pivot_now, since, plan, clock_of(hot).calendar());
  return moment;
}

/// As long as a crossing changes what is to come, the watch's odds are its own.
void Engine::Impl::judge_apart_for_now(const WatchSlot& slot) {
  JudgeGroup& group = book_.groups[slot.group];
  const Moment moment = moment_of(slot, group.plan, Moment{});
  if (moment.since_crossing < 0 || moment.lift == 0) return;
  group.crossed_until = std::max(group.crossed_until, minute_at(slot.symbol, slot.memory.reached) + kCrossingLasts);
}

/// What stands in the way of a judgement, whatever the plan.
NoJudgement Engine::Impl::why_not(SymbolId id, const Moment& moment) const {
  const SymbolMemory& memory = cold_of(id).memory;
  if (memory.day_volume_unclear) return NoJudgement::day_volume_unclear;
  const double heard = moment.minutes - memory.missed_minutes;
  const bool too_little = heard < kHeardLeast && heard < memory.missed_minutes;
  return too_little ? NoJudgement::heard_too_little : NoJudgement::none;
}

VolumeView Engine::Impl::volume_at(const WatchSlot& slot, Timestamp time) const {
  return volume_by(slot, book_.groups[slot.group].plan, time);
}

VolumeView Engine::Impl::volume_by(const WatchSlot& slot, const DayPlan& plan, Timestamp time) const {
  const SymbolHot& hot = book_.hot[slot.symbol];
  const Session* const session = clock_of(hot).session();
  const bool open = session != nullptr && time >= session->open;
  const Moment moment = moment_of(slot, plan, moment_at(slot.symbol, time));
  const NoJudgement in_the_way = why_not(slot.symbol, moment);
  const Rules& rules = book_.rules[slot.rules];
  VolumeView view = judge(plan, book_.volume[slot.symbol], moment, rules, open);
  if (in_the_way != NoJudgement::none && view.why_not == NoJudgement::none) {
    view = not_judged(plan, book_.volume[slot.symbol], rules, in_the_way);
  }
  view.missed_minutes = book_.cold[slot.symbol].memory.missed_minutes;
  return view;
}

}  // namespace brimwatch
