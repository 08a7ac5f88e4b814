#include <algorithm>
#include <array>
#include <cmath>

#include "engine/engine_impl.h"
#include "engine/judge.h"
#include "engine/pivot_days.h"
#include "volume/circumstances.h"
#include "volume/prior.h"

namespace brimwatch {
namespace {

bool is_crossing(NoticeKind kind) { return kind == NoticeKind::crossed || kind == NoticeKind::opened_over; }

bool is_call(NoticeKind kind) { return is_crossing(kind) || kind == NoticeKind::volume_arrived; }

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

constexpr double kSplitNear = 0.04;  ///< judgement: ordinary overnight moves on the day of a split stay within it

const char* split_between(double price, double reference, double least_ratio) {
  const auto is_near = [=](double other) { return std::abs(other / reference - 1) < kSplitNear; };
  for (const SplitRatio& s : kSplitRatios) {
    if (s.ratio >= least_ratio && (is_near(price * s.ratio) || is_near(price / s.ratio))) return s.name;
  }
  return nullptr;
}

}  // namespace

void Engine::Impl::touch(SymbolId id, const Print& print, bool first_of_day) {
  SymbolHot& hot = hot_of(id);
  touched_.clear();
  const auto collect = [this](TriggerHeap heap, std::int64_t x) {
    while (heap.top_key() <= x) {
      touched_.push_back(heap.top());
      heap.update(heap.top(), kNever);
    }
  };
  collect(book_.up_heap(hot), print.price.micros);
  collect(book_.down_heap(hot), -print.price.micros);
  std::sort(touched_.begin(), touched_.end());
  const Step step{print.price, print.time, print.trade, print.exchange, first_of_day, print.again};
  for (const std::uint32_t watch : touched_) advance_watch(hot, book_.slots[hot.first + watch], print, step);
  refresh_nearest(hot);
}

void Engine::Impl::advance_watch(SymbolHot& hot, WatchSlot& slot, const Print& print, const Step& step) {
  count_waiting(hot, slot, -1);
  note_reached(slot.memory, slot.pivot, step, clock_of(hot).session()->open);
  const SideEvents happened = advance(slot.memory, book_.levels(slot), book_.rules[slot.rules], step);
  bool crossed = false;
  for (int i = 0; i < happened.size; ++i) crossed |= is_crossing(happened.list[static_cast<std::size_t>(i)].kind);
  if (happened.size > 0) {
    const VolumeView volume = volume_at(slot, print.time);
    if (crossed) {
      judge_apart_for_now(slot);
      slot.memory.weight_said = volume.weight;
      cold_of(slot.symbol).memory.judge_volume = {};  // it has not been judged with the others
    }
    for (int i = 0; i < happened.size; ++i) {
      const auto& one = happened.list[static_cast<std::size_t>(i)];
      if (!one.told) {
        ++counters_.not_told;
        continue;
      }
      Notice notice = make_notice(slot, one.kind, print);
      notice.side = one.side;
      notice.count = one.count;
      notice.volume = volume;
      if (one.kind == NoticeKind::opened_over) notice.detail = seen_before(slot);
      emit(std::move(notice));
    }
  }
  update_triggers(hot, slot);
  count_waiting(hot, slot, +1);
  mark(slot);
}

/// A watch that is new in mid-session, or a daemon that is: what is over the range now may have been inside it before.
const char* Engine::Impl::seen_before(const WatchSlot& slot) const {
  const SymbolMemory& memory = cold_of(slot.symbol).memory;
  if (memory.day_low <= book_.levels(slot).range_top) return kEarlierInside;
  return memory.missed_minutes > 0 ? kEarlierUnseen : "";
}

void Engine::Impl::rebuild_triggers(SymbolId id, bool follows) {
  SymbolHot& hot = hot_of(id);
  SymbolCold& cold = cold_of(id);
  for (std::uint32_t g = 0; g < cold.group_count; ++g) {
    JudgeGroup& group = book_.groups[cold.first_group + g];
    group.await_heavy = group.await_light = 0;
  }
  hot.waiting = 0;
  for (std::uint32_t i = 0; i < hot.count; ++i) {
    WatchSlot& slot = book_.slots[hot.first + i];
    if (slot.memory.day != hot.day) {
      const bool is_news = begin_pivot_day(slot.memory, hot.day, follows);
      brimwatch::begin_day(slot.memory, hot.day);
      if (is_news && slot.memory.side != Side::unknown) mark(slot);
    }
    judge_apart_for_now(slot);
    const Triggers t = slot.is_active(hot.day) ? triggers_of(slot.memory, book_.levels(slot)) : Triggers{};
    book_.up[hot.first + i] = {t.up, i};
    book_.down[hot.first + i] = {t.down == Triggers{}.down ? kNever : -t.down, i};
    count_waiting(hot, slot, +1);
  }
  book_.up_heap(hot).build();
  book_.down_heap(hot).build();
  refresh_nearest(hot);
}

void Engine::Impl::update_triggers(SymbolHot& hot, WatchSlot& slot) {
  const auto watch = static_cast<std::uint32_t>(&slot - &book_.slots[hot.first]);
  const Triggers t = slot.is_active(hot.day) ? triggers_of(slot.memory, book_.levels(slot)) : Triggers{};
  book_.up_heap(hot).update(watch, t.up);
  book_.down_heap(hot).update(watch, t.down == Triggers{}.down ? kNever : -t.down);
}

void Engine::Impl::refresh_nearest(SymbolHot& hot) {
  hot.up = book_.up_heap(hot).top_key();
  hot.down = -book_.down_heap(hot).top_key();
}

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
  const double odds = project_odds(plan, volume_of(slot.symbol), moment_of(slot, moment), wanted_volume(plan, rules));
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
  return judge_weight(group.plan, volume_of(slot.symbol), moment_of(slot, moment), book_.rules[slot.rules]);
}

void Engine::Impl::judge_one(SymbolHot& hot, WatchSlot& slot, const Print& print) {
  WatchMemory& m = slot.memory;
  const Waits wants = slot.is_active(hot.day) ? waits(m) : Waits::no;
  if (wants == Waits::no) return;
  const Weight now = weight_of(slot, moment_at(slot.symbol, print.time));
  const bool arrived = wants == Waits::heavy && now == Weight::heavy;
  const bool faded = wants == Waits::light && now == Weight::light;
  if (!arrived && !faded) return;
  if (m.crossing_time.ns / kJudgeEvery == print.time.ns / kJudgeEvery) return;  // it has just been said with the crossing
  count_waiting(hot, slot, -1);
  (arrived ? m.arrived_told : m.faded_told) = true;
  m.weight_said = now;
  const NoticeKind kind = arrived ? NoticeKind::volume_arrived : NoticeKind::volume_faded;
  Notice notice = make_notice(slot, kind, print);
  notice.count = ++m.counts[static_cast<std::size_t>(kind)];
  notice.volume = volume_at(slot, print.time);
  emit(std::move(notice));
  count_waiting(hot, slot, +1);
  mark(slot);
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
  moment.auction_due = !memory.close.is_set();
  moment.opening_missed = opening_missed(id, moment.minutes);
  moment.halted =
      static_cast<double>(clock_of(hot_of(id)).elapsed(time) - traded_time(id, time)) / static_cast<double>(kMinute);
  return moment;
}

Moment Engine::Impl::moment_of(const WatchSlot& slot, Moment moment) const {
  const WatchMemory& memory = slot.memory;
  const SymbolHot& hot = book_.hot[slot.symbol];
  if (!memory.reached.is_set() || memory.day != hot.day) return moment;
  const double since = std::max(0.0, moment.minutes - minute_at(slot.symbol, memory.reached));
  set_crossing(moment, memory, slot.pivot, since, book_.groups[slot.group].plan, clock_of(hot).calendar());
  return moment;
}

/// As long as a crossing changes what is to come, the watch's odds are its own.
void Engine::Impl::judge_apart_for_now(const WatchSlot& slot) {
  JudgeGroup& group = book_.groups[slot.group];
  const Moment moment = moment_of(slot, Moment{});
  if (moment.since_crossing < 0 || moment.lift == 0) return;
  group.crossed_until = std::max(group.crossed_until, minute_at(slot.symbol, slot.memory.reached) + kCrossingLasts);
}

VolumeView Engine::Impl::volume_at(const WatchSlot& slot, Timestamp time) const {
  const SymbolHot& hot = book_.hot[slot.symbol];
  const Session* const session = clock_of(hot).session();
  const bool open = session != nullptr && time >= session->open;
  VolumeView view = judge(book_.groups[slot.group].plan, book_.volume[slot.symbol],
                          moment_of(slot, moment_at(slot.symbol, time)), book_.rules[slot.rules], open);
  view.missed_minutes = book_.cold[slot.symbol].memory.missed_minutes;
  return view;
}

Notice Engine::Impl::make_notice(const WatchSlot& slot, NoticeKind kind, const Print& print) const {
  const SymbolHot& hot = book_.hot[slot.symbol];
  const SymbolMemory& memory = book_.cold[slot.symbol].memory;
  Notice notice;
  notice.kind = kind;
  notice.side = slot.memory.side;
  notice.trend = options_.trend;
  notice.marked = options_.trend == Trend::down && options_.when_down == WhenDown::mark && is_call(kind);
  notice.in_hole = memory.in_hole && is_crossing(kind);
  notice.symbol = slot.symbol;
  notice.watch = slot.list_index;
  notice.day = hot.day;
  notice.time = print.time;
  notice.age = print.received.is_set() ? print.received - print.time : -1;
  notice.delayed = notice.age > options_.late_after;
  notice.price = print.price;
  notice.price_before = memory.before;
  const Levels levels = book_.levels(slot);
  notice.pivot = levels.pivot;
  notice.range_top = levels.range_top;
  notice.loss_limit = levels.loss;
  notice.trade_id = print.trade;
  return notice;
}

void Engine::Impl::emit(Notice&& notice) {
  if (options_.trend == Trend::down && options_.when_down == WhenDown::hold_back && is_call(notice.kind)) {
    ++counters_.held_back;
    return;
  }
  ++counters_.notices;
  sink_->on_notice(std::move(notice));
}

/// At the day's first price. Against the last close for all watches; against the pivot for those that have never seen a
/// price, since a base is never half as high as its pivot.
void Engine::Impl::look_for_split(SymbolId id, const Print& print) {
  SymbolHot& hot = hot_of(id);
  const double price = print.price.as_double();
  const Price close = cold_of(id).memory.previous_close;
  const char* const by_close = close.is_set() ? split_between(price, close.as_double(), 1.5) : nullptr;
  for (WatchSlot& slot : book_.watches(hot)) {
    if (!slot.is_active(hot.day)) continue;
    const bool fresh = slot.memory.side == Side::unknown;
    const char* const by_pivot = fresh ? split_between(price, slot.pivot.as_double(), 2) : nullptr;
    if (by_close != nullptr) {
      silence(slot, print, "last close " + to_string(close), by_close);
    } else if (by_pivot != nullptr) {
      silence(slot, print, "pivot " + to_string(slot.pivot), by_pivot);
    }
  }
}

/// Its pivot is of other prices: until somebody has corrected it, what it would say is wrong. Its triggers go; that the
/// symbol still has them for the nearest costs one look.
void Engine::Impl::silence(WatchSlot& slot, const Print& print, const std::string& against, const char* ratio) {
  SymbolHot& hot = hot_of(slot.symbol);
  WatchMemory& m = slot.memory;
  Notice notice = make_notice(slot, NoticeKind::self_check, print);
  notice.count = ++m.counts[static_cast<std::size_t>(NoticeKind::self_check)];
  notice.detail = "price " + to_string(print.price) + " against the " + against + " looks like a split (" + ratio +
                  "); no crossing is told today: check the pivot and correct it";
  count_waiting(hot, slot, -1);
  m.silent = true;
  m.side = Side::unknown;
  m.armed = true;
  m.following = m.told = m.loss_pending = false;  // what was crossed were other prices
  count_waiting(hot, slot, +1);
  update_triggers(hot, slot);
  mark(slot);
  emit(std::move(notice));
}

}  // namespace brimwatch
