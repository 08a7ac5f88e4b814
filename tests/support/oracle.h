#pragma once
// A second engine, written for plainness from the rules in words and sharing no code with the first but the calendar, the
// projection and the arithmetic of prices: every watch is looked at on every tick, nothing is sorted, remembered or
// skipped. What the two say of the same ticks must be the same.
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "core/notice.h"
#include "core/state.h"
#include "core/tick.h"
#include "core/watch.h"
#include "session/calendar.h"
#include "volume/history.h"

namespace brimwatch::test {

class Oracle {
 public:
  Oracle(const std::vector<Watch>& watches, std::shared_ptr<const Calendar> calendar, const SymbolTable& symbols);

  /// One line a notice and one a symbol's day: what is compared.
  void take(const Tick& tick, std::vector<std::string>& said);
  /// It is so late, though no tick has said so.
  void tell_time(Timestamp now, std::vector<std::string>& said) { end_days(now, said); }
  /// The daemon has a new list: plans are made anew where they are next asked for.
  void forget_plans();
  /// It was started again: that too, and how far the feed's clock is from ours has to be found out again.
  void restart();
  /// Where a day's plan is to know more than the watch's normal volume.
  std::function<DayPlan(std::string_view symbol, Shares normal, const Session& session)> plan_of;

  static std::string line_of(const Notice& notice);
  static std::string line_of(const DayRecord& record);
  bool extended_volume = false;  ///< what is traded outside the session counts for the day's volume

 private:
  struct WatchLine {
    Watch watch;
    std::uint32_t index = 0;
    std::string side = "unknown";
    bool armed = true, crossed_alive = false, told = false, loss_open = false;
    bool arrived = false, faded = false;
    Weight weight = Weight::unknown;
    std::vector<Timestamp> run;  // trades in a row at or above the pivot
    bool run_opened_over = false;
    Tick crossing, event;  // time not set: none
    std::string event_side;
    bool event_armed = true, event_alive = false, event_loss = false;
    std::map<NoticeKind, int> counts;
    Timestamp reached;  // today's first price at or above the pivot that came from below it
    Date quiet_since;   // no session from here on has reached it
  };
  struct Accepted {
    Price price;
    Tick tick;
  };
  struct SymbolLine {
    Date day;
    bool ended = false;
    std::vector<Accepted> prices;  // of the day, in order
    Price previous_close, close, open, high, low;
    Timestamp newest;
    std::deque<std::pair<std::uint64_t, char>> ids;
    std::optional<Tick> held;
    std::vector<std::int64_t> knots;  // volume so far when each knot of the curve was passed
    DayVolume volume;
    Price last_override;
    std::vector<std::pair<Timestamp, Timestamp>> halts;  // the second is not set while it lasts
    double missed_minutes = 0, missed_to = 0, missed_share = 0, healed_share = 0;
    bool hole_since_last = false;
    bool opening = false;  // the opening print has come
    DayPlan plan;
    bool needs_plan = true;
    Timestamp last_price_time, judge_time;
    Shares judge_volume;
    Price before;
  };

  void end_days(Timestamp now, std::vector<std::string>& said);
  void end_day(SymbolId id, std::vector<std::string>& said);
  SymbolLine* symbol_at(const Tick& tick, const Session*& session);
  SymbolLine* with_plan(SymbolId id, SymbolLine& s);
  bool is_sane(const Tick& tick);
  bool is_ahead(const Tick& tick) const;
  void trade(const Tick& tick, std::vector<std::string>& said);
  void outside(SymbolLine& s, const Tick& tick, const Session& session);
  void bar(const Tick& tick, std::vector<std::string>& said);
  void snapshot(const Tick& tick, std::vector<std::string>& said);
  void add_volume(SymbolLine& s, Timestamp time, Shares size);
  void pass_knots(SymbolLine& s, int minute);
  void believe_day_volume(SymbolLine& s, Timestamp time, Shares day_volume);
  void move_high_low(SymbolId id, SymbolLine& s, Price price);
  double guard_of(SymbolId id);  ///< percent; so wide that nothing is out where there is none
  void offer(SymbolId id, const Tick& tick, std::vector<std::string>& said, bool again = false);
  void accept(SymbolId id, const Tick& tick, std::vector<std::string>& said, bool again = false);
  void look(WatchLine& w, SymbolLine& s, const Tick& tick, bool first, bool again, std::vector<std::string>& said);
  void write_day(SymbolId id, std::vector<std::string>& said);
  void judge(SymbolId id, const Tick& tick, std::vector<std::string>& said);
  SymbolLine* corrected(const Tick& tick);
  void cancel(const Tick& tick, std::vector<std::string>& said);
  void correct(const Tick& tick, std::vector<std::string>& said);
  void change_volume(SymbolLine& s, const Tick& tick, Shares by);
  void undo(SymbolLine& s, const Tick& tick, std::vector<std::string>& said);
  void status(const Tick& tick, std::vector<std::string>& said);
  void hole(const Tick& tick);
  double minutes(const SymbolLine& s, Timestamp time) const;
  static Price last_of(const SymbolLine& s);  ///< not set before the day's first
  VolumeView view(const WatchLine& w, const SymbolLine& s, Timestamp time) const;
  void say(WatchLine& w, SymbolLine& s, NoticeKind kind, const Tick& tick, const VolumeView& volume,
           std::vector<std::string>& said, bool told = true);
  const std::vector<WatchLine*>& watches_of(SymbolId id);  ///< in the order of their pivots

  std::shared_ptr<const Calendar> calendar_;
  const SymbolTable& names_;
  std::vector<WatchLine> watches_;
  std::map<SymbolId, std::vector<WatchLine*>> by_symbol_;
  std::map<SymbolId, SymbolLine> symbols_;
  Timestamp now_;
  Nanos lead_ = 0;  // how far the feed's clock was ahead of ours when it was last believed
  int ahead_ = 0;
  Date opening_heard_;  // the feed told some opening print that day
};

}  // namespace brimwatch::test
