#pragma once
// A second engine, written for plainness from the rules in words and sharing no code with the first but the calendar, the
// projection and the arithmetic of prices: every watch is looked at on every tick, nothing is sorted, remembered or
// skipped. What the two say of the same ticks must be the same.
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "core/notice.h"
#include "core/state.h"
#include "core/tick.h"
#include "core/watch.h"
#include "session/calendar.h"
#include "volume/history.h"

namespace brimwatch::test {

struct Column;  // oracle_prints.h

class Oracle {
 public:
  Oracle(const std::vector<Watch>& watches, std::shared_ptr<const Calendar> calendar, const SymbolTable& symbols);

  /// One line a notice and one a symbol's day: what is compared.
  void take(const Tick& tick, std::vector<std::string>& said);
  /// It is so late, though no tick has said so.
  void tell_time(Timestamp now, std::vector<std::string>& said);
  /// What the general market does from now on, and what that means for crossings.
  void market(Trend trend, WhenDown when_down) { trend_ = trend, when_down_ = when_down; }
  /// The daemon has a new list: plans are made anew where they are next asked for.
  void forget_plans();
  /// It was started again: that too, and how far the feed's clock is from ours has to be found out again.
  void restart();
  /// Where a day's plan is to know more than the watch's normal volume.
  std::function<DayPlan(std::string_view symbol, Shares normal, const Session& session)> plan_of;

  /// What people say back between two ticks. `watch`: its place in the list.
  void mute(std::size_t watch, Timestamp until, bool under_pivot);
  void buy(std::size_t watch, Price own);
  void sell(std::size_t watch);
  /// It leaves the list; it comes back. On the same day it goes on where it stood, but for its mute.
  void drop(std::size_t watch);
  void add(std::size_t watch);

  static std::string line_of(const Notice& notice);
  static std::string line_of(const DayRecord& record);
  bool extended_volume = false;  ///< what is traded outside the session counts for the day's volume

 private:
  /// Where a watch stands.
  struct Stand {
    std::string side = "unknown";
    bool armed = true, crossed_alive = false, told = false, loss_open = false;
    bool outside_said = false;  // the last thing said was that the price is not in the range
    bool never_inside = false;  // since a crossing that took it past the range
    bool arrived = false, faded = false;
    std::set<int> gains;  // of a holding: percent that have been told
    bool held = false;    // the crossing was held back for a falling market
    Weight weight = Weight::unknown;
    std::vector<Timestamp> run;  // trades in a row at or above the pivot
    bool run_opened_over = false;
    Timestamp crossing_time;
    Timestamp reached;  // today's first price at or above the pivot that came from below it
    std::map<NoticeKind, int> counts;
  };
  struct Change {
    Stand before;
    Tick by;
    Price price_before;
  };
  struct WatchLine : Stand {
    Watch watch;
    std::uint32_t index = 0;
    std::vector<Change> changes;            // of the day, the newest last
    Date quiet_since;                       // no session from here on has reached the pivot
    int withdrawn = 0;                      // how far counts have gone back today
    bool doubtful = false, silent = false;  // today the price looks like a split; and nothing is said
    Price own;                              // what its user paid for the stock; 0: it is not held
    Timestamp mute_end;
    bool muted_till_under = false;
    bool listed = true;
    Date left_on;  // the day of its stock when it left the list
  };
  struct Happening {
    NoticeKind kind = NoticeKind::crossed;
    bool told = true, last_today = false;
    int count = 1;
    std::string side;
  };
  struct SymbolLine {
    Date day;
    bool ended = false;
    std::deque<Tick> recent;  // the last four prices that count, the newest first
    Price last, previous_close;
    char last_exchange = 0;
    std::optional<Tick> opening, closing, held;
    Shares closing_size;
    bool close_is_listing_s = false;
    std::vector<Tick> highs, lows;  // three each, the outermost first
    Timestamp newest, newest_before, newest_outside, newest_bar;
    std::vector<Timestamp> behind;  // trades in a row that came too late by the newest one's time
    std::map<std::pair<std::uint64_t, char>, Timestamp> ids;
    std::vector<std::int64_t> knots;  // volume so far when each knot of the curve was passed
    DayVolume volume;
    Shares outside_volume, count_before;
    bool count_unclear = false;
    std::vector<std::pair<Timestamp, Timestamp>> halts;  // the second is not set while it lasts
    Price before_halt;
    bool halt_told = false, resuming = false;
    std::vector<std::pair<Nanos, Nanos>> unheard, healed;  // of trading, since the open
    double missed_minutes = 0, missed_to = 0, missed_share = 0, blind_share = 0;
    bool hole_since_last = false;
    bool opening_heard = false;        // the opening print has come
    std::uint8_t feed = kFeedUnknown;  // that the day's last news came from
    DayPlan plan;
    bool needs_plan = true;
    Timestamp last_price_time, judge_time;
    Shares judge_volume;
  };

  void end_days(Timestamp now, std::vector<std::string>& said);
  void end_day(SymbolId id, std::vector<std::string>& said);
  void end_watch(WatchLine& w, SymbolLine& s, std::vector<std::string>& said);
  void miss_the_end(Date day);
  SymbolLine* symbol_at(const Tick& tick, const Session*& session);
  SymbolLine* with_plan(SymbolId id, SymbolLine& s);
  bool is_sane(const Tick& tick);
  bool is_ahead(const Tick& tick) const;
  static bool is_in_order(SymbolLine& s, Timestamp time);
  void trade(const Tick& tick, std::vector<std::string>& said);
  void quote(const Tick& tick, std::vector<std::string>& said);
  [[nodiscard]] bool is_auction_without_code(const SymbolLine& s, const Tick& tick, const Session& session) const;
  void look_for_split(SymbolId id, const Tick& tick, std::vector<std::string>& said);
  void release(WatchLine& w, SymbolLine& s, const Tick& tick, std::vector<std::string>& said);
  [[nodiscard]] bool holds_back() const { return trend_ == Trend::down && when_down_ == WhenDown::hold_back; }
  bool is_last_price(const SymbolLine& s, const Tick& tick, const Column& c);
  void beside(SymbolLine& s, const Tick& tick, const Column& c, std::vector<std::string>& said);
  void outside(SymbolLine& s, const Tick& tick, const Session& session);
  void bar(const Tick& tick, std::vector<std::string>& said);
  void snapshot(const Tick& tick, std::vector<std::string>& said);
  void add_volume(SymbolLine& s, Timestamp time, Shares size);
  void pass_knots(SymbolLine& s, int minute);
  void believe_day_volume(SymbolLine& s, Timestamp time, Shares day_volume);
  void look_at_first_count(SymbolLine& s, Shares before_this);
  void open_late(SymbolLine& s, Timestamp time);
  void move_high_low(SymbolId id, SymbolLine& s, const Tick& tick);
  double guard_of(SymbolId id);  ///< percent; so wide that nothing is out where there is none
  bool is_far(SymbolId id, Price a, Price b, double percent);
  bool trusts_auctions(SymbolId id);
  void offer(SymbolId id, const Tick& tick, std::vector<std::string>& said, bool again = false);
  void accept(SymbolId id, const Tick& tick, std::vector<std::string>& said, bool again = false);
  std::vector<Happening> step(Stand& w, const Watch& watch, Price own, const Tick& tick, bool first, bool again) const;
  void look(WatchLine& w, SymbolLine& s, const Tick& tick, bool first, bool again, std::vector<std::string>& said);
  void say_all(WatchLine& w, SymbolLine& s, const Tick& tick, const std::vector<Happening>& happened,
               std::vector<std::string>& said);
  static bool is_change(const Stand& before, const Stand& after, const std::vector<Happening>& happened);
  void note_reached(WatchLine& w, const SymbolLine& s, const Tick& tick, bool first) const;
  void confirm_by_the_clock(Timestamp now, std::vector<std::string>& said);
  void write_day(SymbolId id, std::vector<std::string>& said);
  void judge(SymbolId id, const Tick& tick, std::vector<std::string>& said);
  SymbolLine* corrected(const Tick& tick);
  void cancel(const Tick& tick, std::vector<std::string>& said);
  void correct(const Tick& tick, std::vector<std::string>& said);
  void change_volume(SymbolLine& s, const Tick& tick, Shares by);
  void undo(SymbolLine& s, const Tick& tick, Price corrected, std::vector<std::string>& said);
  void undo_prices(SymbolId id, SymbolLine& s, const Tick& tick, Price corrected);
  void undo_watch(WatchLine& w, SymbolLine& s, const Tick& tick, const std::vector<Tick>& still, bool is_corrected,
                  std::vector<std::string>& said);
  void status(const Tick& tick, std::vector<std::string>& said);
  void end_halt(SymbolLine& s, Timestamp time);
  void trade_again(SymbolId id, const Tick& tick, std::vector<std::string>& said);
  void say_once(SymbolId id, SymbolLine& s, NoticeKind kind, const Tick& tick, std::vector<std::string>& said);
  void hole(const Tick& tick);
  void add_unheard(SymbolLine& s, Timestamp from, Timestamp to);
  void weigh_unheard(SymbolLine& s);
  double minutes(const SymbolLine& s, Timestamp time) const;
  static Price before_last(const SymbolLine& s);
  VolumeView view(const WatchLine& w, const SymbolLine& s, Timestamp time) const;
  bool is_judged(const SymbolLine& s, Timestamp time) const;
  void say(const WatchLine& w, const SymbolLine& s, const Happening& what, const Tick& tick, Price before,
           const VolumeView& volume, std::vector<std::string>& said);
  const std::vector<WatchLine*>& watches_of(SymbolId id);  ///< in the order of their pivots
  static bool is_active(const WatchLine& w, Date day) {
    return w.own.is_set() || (!(w.watch.from && day < *w.watch.from) && !(w.watch.until && day > *w.watch.until));
  }

  std::shared_ptr<const Calendar> calendar_;
  const SymbolTable& names_;
  std::vector<WatchLine> watches_;
  std::map<SymbolId, std::vector<WatchLine*>> by_symbol_;
  std::map<SymbolId, SymbolLine> symbols_;
  Trend trend_ = Trend::unknown;
  WhenDown when_down_ = WhenDown::mark;
  Timestamp now_;
  Nanos lead_ = 0;  // how far the feed's clock was ahead of ours when it was last believed
  int ahead_ = 0;
  Date opening_heard_;  // the feed told some opening print that day
};

}  // namespace brimwatch::test
