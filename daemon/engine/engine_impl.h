#pragma once
// The engine's inside: one class, its work spread over files by subject. Not for others to include.
//   engine.cpp         the public face, lists, market
//   engine_trades.cpp  a trade's way: condition, session, order, guard, price
//   engine_watches.cpp a price's effect on the watches, and the judgement of volume
//   engine_rare.cpp    everything that is not a trade: corrections, halts, holes, bars, snapshots
//   engine_days.cpp    days begin and end
//   engine_state.cpp   what survives a restart
#include <vector>

#include "engine/book.h"
#include "engine/day_clock.h"
#include "engine/eligibility.h"
#include "engine/engine.h"

namespace brimwatch {

// Watches that wait for the volume to arrive or to fade are judged in a new five seconds of tick time, once the volume
// has grown by a fiftieth since the last judgement or two minutes have passed; by a sixteenth or ten minutes while the
// odds are far from those that they wait for. What lies between cannot move the odds so far.
constexpr Nanos kJudgeEvery = 5 * kSecond;
constexpr double kJudgeFar = 0.25;
struct JudgePause {
  std::int64_t growth;  ///< one part in so many
  Nanos longest;
};
constexpr JudgePause kPauseNear{50, 2 * kMinute}, kPauseFar{16, 10 * kMinute};

constexpr Shares kSizeMost = Shares::whole(10'000'000'000);    ///< no print is larger
constexpr Shares kDayMost = Shares::whole(4'000'000'000'000);  ///< no day's volume is larger

/// A price that may move levels: a trade's, a held one's, a bar's.
struct Print {
  Price price;
  Timestamp time, received;
  std::uint64_t trade = 0;
  char exchange = 0;
  bool again = false;  ///< of the same trade or bar as the one before: bears out nothing
};

struct Engine::Impl {
  Impl(EngineOptions options, SymbolTable& names, PlanSource plans)
      : options_(options), symbols_(names), plan_source_(std::move(plans)) {}

  // engine.cpp
  /// Keeps the clocks of these calendars and makes those that are missing; which one each calendar has.
  std::vector<std::uint8_t> choose_clocks(const std::vector<std::shared_ptr<const Calendar>>& calendars);

  // engine_trades.cpp
  void take(const Tick& tick);
  void take_trade(const Tick& tick);
  /// The symbol's hot state with its day begun; nullptr when nobody watches it or its day is over.
  SymbolHot* admit(const Tick& tick);
  [[nodiscard]] bool is_ahead(const Tick& tick) const;
  bool is_now(const Tick& tick);  ///< of trades, bars and snapshots: three in a row that are ahead are believed
  bool is_sane(const Tick& tick);
  bool is_duplicate(SymbolId id, const Tick& tick);
  void count_volume(SymbolId id, Timestamp time, Shares size);
  void note_opening(SymbolId id);
  void pass_knots(SymbolId id, std::int32_t minute);
  void take_outside(SymbolHot& hot, const Tick& tick, std::uint16_t bars);
  [[nodiscard]] bool moves_last(const SymbolHot& hot, const Tick& tick, std::uint16_t bars) const;
  void offer(SymbolId id, const Print& print);
  void accept(SymbolId id, const Print& print);
  void open_day(SymbolId id, const Print& print);
  void move_high_low(SymbolId id, Price price);
  [[nodiscard]] static bool is_far(Price price, Price from, std::uint32_t bad_print);
  [[nodiscard]] static bool is_closing_print(const SymbolHot& hot, const Tick& tick, std::uint16_t bars);

  // engine_watches.cpp
  void touch(SymbolId id, const Print& print, bool first_of_day);
  void advance_watch(SymbolHot& hot, WatchSlot& slot, const Print& print, const Step& step);
  [[nodiscard]] const char* seen_before(const WatchSlot& slot) const;
  void rebuild_triggers(SymbolId id, bool follows = true);  ///< `follows`: the session before was heard
  void update_triggers(SymbolHot& hot, WatchSlot& slot);
  void refresh_nearest(SymbolHot& hot);
  void count_waiting(SymbolHot& hot, const WatchSlot& slot, int by);
  void judge_waiting(SymbolId id, const Print& print);
  void judge_one(SymbolHot& hot, WatchSlot& slot, const Print& print);
  double odds_to_spare(const WatchSlot& slot, const Moment& moment) const;
  [[nodiscard]] Weight weight_of(const WatchSlot& slot, const Moment& moment) const;
  [[nodiscard]] double minute_at(SymbolId id, Timestamp time) const;  ///< of trading since the open
  [[nodiscard]] bool opening_missed(SymbolId id, double minute) const;
  [[nodiscard]] Moment moment_at(SymbolId id, Timestamp time) const;
  [[nodiscard]] Moment moment_of(const WatchSlot& slot, Moment moment) const;  ///< with its crossing, where it had one
  [[nodiscard]] VolumeView volume_at(const WatchSlot& slot, Timestamp time) const;
  void judge_apart_for_now(const WatchSlot& slot);
  Notice make_notice(const WatchSlot& slot, NoticeKind kind, const Print& print) const;
  void emit(Notice&& notice);
  void look_for_split(SymbolId id, const Print& print);
  void silence(WatchSlot& slot, const Print& print, const std::string& against, const char* ratio);

  // engine_rare.cpp
  void take_cancel(const Tick& tick);
  void take_correct(const Tick& tick);
  void take_status(const Tick& tick);
  void halt(SymbolId id, const Print& print);
  void resume(SymbolId id, const Print& print);
  void resume_on_trade(SymbolId id, const Print& print);
  void tell_all(SymbolId id, NoticeKind kind, const Print& print);
  void take_bar(const Tick& tick);
  void take_day(const Tick& tick);
  void take_close_of(const Tick& tick);
  void take_hole(const Tick& tick);
  void hole_of(SymbolId id, Timestamp from, Timestamp to);
  void add_hole(SymbolId id, Timestamp from, Timestamp to);
  void reconcile(SymbolId id, Timestamp time, Shares day_volume);
  void undo(SymbolId id, const Print& print);
  SymbolHot* admit_correction(const Tick& tick);
  [[nodiscard]] bool was_counted(const SymbolHot& hot, const Tick& tick) const;
  void change_volume(SymbolId id, Timestamp time, Shares by);

  // engine_days.cpp
  void move_clock(std::uint8_t clock, Timestamp time);
  void begin_day(SymbolId id);
  void end_day(SymbolId id);
  void end_days(std::uint8_t clock, Date before);
  void tell_day(SymbolId id, const Session& session);
  void tell_day_of(WatchSlot& slot, const Session& session);
  void write_day_record(SymbolId id, const Session& session);
  void make_plans(SymbolId id, const Session& session);
  bool forget_day(SymbolId id, Date day);  ///< whether the day that is forgotten was the session before
  void set_gap(SymbolId id);
  void catch_up(SymbolId id);
  [[nodiscard]] Nanos traded_time(SymbolId id, Timestamp time) const;  ///< since the open, halts left out

  // engine_state.cpp
  void mark(SymbolId id) {
    if (!hot_of(id).dirty) mark_first(id);
  }
  void mark_first(SymbolId id);
  void mark(WatchSlot& slot);
  [[nodiscard]] WatchState state_of(const WatchSlot& slot) const;
  [[nodiscard]] SymbolState state_of(SymbolId id) const;
  void restore_symbol(const SymbolState& state);
  void restore_watch(const WatchState& state);

  [[nodiscard]] const DayClock& clock_of(const SymbolHot& hot) const { return clocks_.data()[hot.clock]; }

  [[nodiscard]] std::uint16_t bars_on(const SymbolHot& hot, const Tick& tick) const {
    return bars_of(tick.conditions, hot.tape == Tape::cts ? cts_ : utdf_);
  }

  [[nodiscard]] bool is_watched(SymbolId id) const { return id < book_.hot.size() && hot_of(id).count > 0; }

  // Ids are checked once, where a tick comes in; from there on these do without.
  [[nodiscard]] SymbolHot& hot_of(SymbolId id) { return book_.hot.data()[id]; }
  [[nodiscard]] SymbolCold& cold_of(SymbolId id) { return book_.cold.data()[id]; }
  [[nodiscard]] DayVolume& volume_of(SymbolId id) { return book_.volume.data()[id]; }
  [[nodiscard]] const SymbolHot& hot_of(SymbolId id) const { return book_.hot.data()[id]; }
  [[nodiscard]] const SymbolCold& cold_of(SymbolId id) const { return book_.cold.data()[id]; }
  [[nodiscard]] const DayVolume& volume_of(SymbolId id) const { return book_.volume.data()[id]; }

  EngineOptions options_;
  const ConditionTable& cts_ = condition_table(Tape::cts);
  const ConditionTable& utdf_ = condition_table(Tape::utdf);
  BarsCache cts_cache_{Tape::cts}, utdf_cache_{Tape::utdf};
  SymbolTable& symbols_;
  PlanSource plan_source_;
  EngineCounters counters_;
  Book book_;
  std::vector<DayClock> clocks_;
  std::vector<Timestamp> known_;            ///< by clock: what a kept state says of the time that has been reached
  std::vector<std::uint32_t> touched_;      ///< scratch, sized for the symbol with most watches
  std::vector<std::uint32_t> dirty_slots_;  ///< reserved for all
  std::vector<SymbolId> dirty_symbols_;
  NoticeSink* sink_ = nullptr;
  Nanos lead_ = 0;  ///< how far the newest tick was ahead of our own clock
  int ahead_in_row_ = 0;
  Date opening_heard_;  ///< newest day on which some symbol's opening print came: the feed tells them
};

}  // namespace brimwatch
