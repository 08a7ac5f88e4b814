#pragma once
// The engine's inside: one class, its work spread over files by subject. Not for others to include.
//   engine.cpp           the public face, lists, market
//   engine_trades.cpp    a trade's way: condition, session, order, price
//   engine_guard.cpp     the print guard
//   engine_watches.cpp   a price's effect on the watches, and notices
//   engine_judging.cpp   the judgement of volume
//   engine_doubts.cpp    what makes a price or a count doubtful: splits, what a source's count of the day includes
//   engine_rare.cpp      bars and snapshots
//   engine_halts.cpp     trading status
//   engine_heard.cpp     what was heard of the day, and what not
//   engine_take_back.cpp cancels and corrections
//   engine_days.cpp      days begin and end
//   engine_answers.cpp   what people say back: mutes and holdings
//   engine_state.cpp     what survives a restart
#include <array>
#include <vector>

#include "engine/book.h"
#include "engine/day_clock.h"
#include "engine/departed.h"
#include "engine/eligibility.h"
#include "engine/engine.h"
#include "engine/past_stands.h"
#include "engine/recent_ids.h"

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

constexpr Nanos kLateMost = 2 * kSecond;  ///< older than the newest by more: it comes too late to move a level
constexpr int kAheadBelieved = 3;         ///< so many in a row that agree are believed against one that is ahead
constexpr Nanos kHeldFor = 15 * kSecond;  ///< so long a held price waits for the tape to agree
constexpr Timestamp kNoTime{kNever};

/// A price that may move levels: a trade's, a held one's, a bar's.
struct Print {
  Price price;
  Timestamp time, received;
  std::uint64_t trade = 0;
  Shares size;  ///< 0: not known
  char exchange = 0;
  bool auction = false;  ///< an opening, reopening or closing auction made it
  bool again = false;    ///< of the same trade or bar as the one before: bears out nothing

  [[nodiscard]] SeenPrint seen() const { return {price, time, trade, exchange}; }
};

/// Ids are each exchange's own.
[[nodiscard]] inline std::uint64_t id_on_exchange(const Tick& tick) {
  return tick.id ^ (static_cast<std::uint64_t>(static_cast<unsigned char>(tick.exchange)) << 56);
}

[[nodiscard]] inline Print print_of(const Tick& tick) {
  return {tick.price, tick.time, tick.received, tick.id, tick.size, tick.exchange};
}

struct Engine::Impl {
  Impl(EngineOptions options, SymbolTable& names, PlanSource plans)
      : options_(options), symbols_(names), plan_source_(std::move(plans)) {}

  // engine.cpp
  /// Keeps the clocks of these calendars and makes those that are missing; which one each calendar has.
  static DayClock clock_for(const std::shared_ptr<const Calendar>& calendar, const std::vector<DayClock>& old,
                            const std::vector<Timestamp>& old_known, Timestamp& known);
  std::vector<std::uint8_t> choose_clocks(const std::vector<std::shared_ptr<const Calendar>>& calendars);
  void set_market(Trend trend, WhenDown when_down);
  /// The market is falling, and who watches it wants no calls to buy then.
  [[nodiscard]] bool holds_back() const {
    return options_.trend == Trend::down && options_.when_down == WhenDown::hold_back;
  }

  // engine_trades.cpp
  void take(const Tick& tick);
  void take_trade(const Tick& tick);
  /// The symbol's hot state with its day begun; nullptr when nobody watches it or its day is over.
  SymbolHot* admit(const Tick& tick);
  SymbolHot* admit_other_day(const Tick& tick);
  [[nodiscard]] bool is_ahead(const Tick& tick) const;
  bool is_now(const Tick& tick);  ///< of trades, bars and snapshots: three in a row that are ahead are believed
  bool is_sane(const Tick& tick);
  [[nodiscard]] static bool is_leap(const DayClock& clock, Timestamp time);  ///< to a day far ahead
  void hold_leap(const Tick& tick);
  bool is_duplicate(SymbolId id, const Tick& tick);
  bool is_in_order(SymbolHot& hot, SymbolMemory& memory, Timestamp time);
  void note_opening(SymbolId id);
  void count_volume(SymbolId id, Timestamp time, Shares size);
  void pass_knots(SymbolId id, std::int32_t minute);
  void take_beside(SymbolId id, const Tick& tick, std::uint16_t bars);
  void take_outside(SymbolId id, const Tick& tick, std::uint16_t bars);
  void take_closing_print(SymbolId id, const Tick& tick, std::uint16_t bars);
  [[nodiscard]] bool moves_last(const SymbolHot& hot, const Tick& tick, std::uint16_t bars) const;
  void accept(SymbolId id, const Print& print);
  void open_day(SymbolId id, const Print& print);
  void move_high_low(SymbolId id, const SeenPrint& print);
  void add_high(SymbolMemory& memory, const SeenPrint& print);
  void add_low(SymbolMemory& memory, const SeenPrint& print);
  [[nodiscard]] static bool is_closing_print(const SymbolHot& hot, const Tick& tick, std::uint16_t bars);
  [[nodiscard]] bool is_uncoded_auction(SymbolId id, const Tick& tick) const;

  // engine_guard.cpp
  void offer(SymbolId id, const Print& print);
  void hold(SymbolId id, const Print& print);
  bool settle_held(SymbolId id, const Print& print);
  void drop_held(SymbolId id);
  void confirm_held(SymbolId id, Timestamp now);
  void take_quote(const Tick& tick);
  [[nodiscard]] bool is_far(SymbolId id, Price price, Price from, std::uint32_t bound) const;

  // engine_watches.cpp
  void touch(SymbolId id, const Print& print, bool first_of_day);
  void advance_watch(SymbolHot& hot, WatchSlot& slot, const Print& print, const Step& step);
  void remember_change(WatchSlot& slot, const WatchStand& before, const Print& print);
  void tell_events(WatchSlot& slot, const Print& print, const SideEvents& happened);
  void release_held(WatchSlot& slot, const Print& print);
  void watch_confirmation(WatchSlot& slot);
  void confirm_due(Timestamp now);
  bool confirm_one(WatchSlot& slot, Timestamp at);
  [[nodiscard]] SeenPrint newest_of(const WatchSlot& slot) const;
  [[nodiscard]] Step step_of(const Print& print, bool first_of_day) const;
  [[nodiscard]] const char* seen_before(const WatchSlot& slot) const;
  void rebuild_triggers(SymbolId id, bool follows = true);  ///< `follows`: the session before was heard
  void update_triggers(SymbolHot& hot, WatchSlot& slot);
  void refresh_nearest(SymbolHot& hot);
  [[nodiscard]] bool is_held_back(const WatchSlot& slot, NoticeKind kind) const;
  Notice make_notice(const WatchSlot& slot, NoticeKind kind, const Print& print) const;
  std::uint16_t count_one(WatchSlot& slot, NoticeKind kind);
  void emit(Notice&& notice);

  // engine_judging.cpp
  void count_waiting(SymbolHot& hot, const WatchSlot& slot, int by);
  void judge_waiting(SymbolId id, const Print& print);
  void judge_one(SymbolHot& hot, WatchSlot& slot, const Print& print);
  [[nodiscard]] double odds_to_spare(const WatchSlot& slot, const Moment& moment) const;
  [[nodiscard]] Weight weight_of(const WatchSlot& slot, const Moment& moment) const;
  [[nodiscard]] double minute_at(SymbolId id, Timestamp time) const;  ///< of trading since the open
  [[nodiscard]] bool opening_missed(SymbolId id, double minute) const;
  [[nodiscard]] Moment moment_at(SymbolId id, Timestamp time) const;
  /// With its crossing, where it had one.
  [[nodiscard]] Moment moment_of(const WatchSlot& slot, const DayPlan& plan, Moment moment) const;
  void judge_apart_for_now(const WatchSlot& slot);
  [[nodiscard]] VolumeView volume_at(const WatchSlot& slot, Timestamp time) const;
  [[nodiscard]] VolumeView volume_by(const WatchSlot& slot, const DayPlan& plan, Timestamp time) const;
  [[nodiscard]] NoJudgement why_not(SymbolId id, const Moment& moment) const;

  // engine_doubts.cpp
  void look_for_split(SymbolId id, const Print& print);
  void doubt_split(WatchSlot& slot, const Print& print, const std::string& against, double ratio);
  [[nodiscard]] std::string what_a_split_makes(const WatchSlot& slot, Price price, double ratio) const;
  void open_late(SymbolId id, Timestamp time);
  void take_count_before_open(SymbolId id, Shares day_volume);
  void take_first_count(SymbolId id, Shares before_this);

  // engine_rare.cpp
  void take_bar(const Tick& tick);
  void take_day(const Tick& tick);
  [[nodiscard]] bool is_known_print(SymbolId id, const Print& print) const;
  void take_close_of(const Tick& tick, std::uint16_t bars);
  void reconcile(SymbolId id, Timestamp time, Shares day_volume);

  // engine_halts.cpp
  void take_status(const Tick& tick);
  void halt(SymbolId id, const Print& print);
  void end_halt(SymbolId id, Timestamp time);
  void trade_again(SymbolId id, const Print& print);
  void tell_once(SymbolId id, NoticeKind kind, const Print& print);

  // engine_heard.cpp
  void take_hole(const Tick& tick);
  void hole_of(SymbolId id, Timestamp from, Timestamp to);
  void add_unheard(SymbolId id, Timestamp from, Timestamp to);
  void add_absence(SymbolId id);
  void heal(SymbolId id);
  void weigh_unheard(SymbolId id);
  void miss_the_end(std::uint8_t clock, Date day);
  [[nodiscard]] Timestamp heard_until() const;

  // engine_take_back.cpp
  struct Later {
    std::array<Print, kRecentPrints + 1> prints;  ///< what the tape still says, from the trade that was taken back on
    std::size_t count = 0;
    bool was_last = false;
  };
  void take_cancel(const Tick& tick);
  void take_correct(const Tick& tick);
  SymbolHot* admit_correction(const Tick& tick);
  [[nodiscard]] bool was_counted(const SymbolHot& hot, const Tick& tick) const;
  void change_volume(SymbolId id, Timestamp time, Shares by);
  void undo(SymbolId id, const Print& print, Price corrected);
  Later forget_print(SymbolId id, const Print& print, Price corrected);
  void correct_extremes(SymbolId id, const Print& print, Price corrected);
  bool undo_watch(WatchSlot& slot, const Print& print, Price corrected, const Later& later, Timestamp now);
  void replay_watch(WatchSlot& slot, const std::array<Print, kPastMost + kRecentPrints + 1>& prints, std::size_t count,
                    const WatchStand& was);

  // engine_days.cpp
  void move_clock(std::uint8_t clock, Timestamp time);
  void begin_day(SymbolId id);
  void end_day(SymbolId id);
  void end_days(std::uint8_t clock, Date before);
  void tell_day(SymbolId id, const Session& session);
  void tell_day_of(WatchSlot& slot, const Session& session);
  void write_day_record(SymbolId id, const Session& session);
  void make_plans(SymbolId id, const Session& session);
  [[nodiscard]] DayPlan plan_for(SymbolId id, std::uint32_t watch, const Session& session) const;
  bool forget_day(SymbolId id, Date day);  ///< whether the day that is forgotten was the session before
  void set_gap(SymbolId id);
  [[nodiscard]] double gap_of(SymbolId id, const DayPlan& plan) const;
  void catch_up(SymbolId id);
  [[nodiscard]] Nanos traded_time(SymbolId id, Timestamp time) const;  ///< since the open, halts left out

  // engine_answers.cpp
  [[nodiscard]] WatchSlot* slot_of(std::string_view symbol, Price pivot);
  void set_holdings(std::vector<HeldWatch> held);
  void hold(WatchSlot& slot, const HeldWatch& held);
  void let_go(WatchSlot& slot);
  void hold_again();                 ///< after a new list or a restart
  void begin_anew(WatchSlot& slot);  ///< its triggers, after something but a price has changed it

  // engine_state.cpp
  void mark(SymbolId id) {
    if (!hot_of(id).dirty) mark_first(id);
  }
  void mark_first(SymbolId id);
  void mark(WatchSlot& slot);
  void forget_changed(std::ptrdiff_t slots, std::ptrdiff_t symbols);
  [[nodiscard]] WatchState state_of(const WatchSlot& slot) const;
  [[nodiscard]] SymbolState state_of(SymbolId id) const;
  void restore_symbol(const SymbolState& state);
  void restore_watch(const WatchState& state);
  void see_off(const BookDraft& next, std::span<const SymbolId> ids);
  void take_back_departed();

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
  PastStands past_;
  RecentIds ids_;
  std::vector<DayClock> clocks_;
  std::vector<HeldWatch> held_;             ///< in force, whatever list is
  Departed departed_;                       ///< of lists before this one
  std::vector<Timestamp> known_;            ///< by clock: what a kept state says of the time that has been reached
  std::vector<std::uint32_t> touched_;      ///< scratch, sized for the symbol with most watches
  std::vector<std::uint32_t> dirty_slots_;  ///< reserved for all
  std::vector<std::uint32_t> confirming_;   ///< reserved for all: slots whose confirmation the clock may end
  std::vector<SymbolId> dirty_symbols_;
  std::size_t slots_of_round_ = 0, symbols_of_round_ = 0;  ///< of the dirty ones the first, which are taken in parts
  Timestamp due_ = kNoTime;                                ///< when the first of them is to be looked at
  Timestamp told_time_;                                    ///< of the last on_time
  std::array<Tick, 2> leaps_;                              ///< ticks of a day far ahead, until three agree
  int leap_count_ = 0;
  bool leap_believed_ = false;
  bool restored_ = false;  ///< something was kept by the process before
  NoticeSink* sink_ = nullptr;
  Nanos lead_ = 0;  ///< how far the newest tick was ahead of our own clock
  bool lead_known_ = false;
  int ahead_in_row_ = 0;
  Date opening_heard_;  ///< newest day on which some symbol's opening print came: the feed tells them
};

}  // namespace brimwatch
