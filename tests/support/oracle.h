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
#include "core/tick.h"
#include "core/watch.h"
#include "session/calendar.h"
#include "volume/history.h"

namespace brimwatch::test {

class Oracle {
 public:
  Oracle(const std::vector<Watch>& watches, std::shared_ptr<const Calendar> calendar, const SymbolTable& symbols);

  /// One line a notice: what is compared.
  void take(const Tick& tick, std::vector<std::string>& said);
  /// It is so late, though no tick has said so.
  void tell_time(Timestamp now, std::vector<std::string>& said) { end_days(now, said); }
  /// The daemon was started again, or has a new list: plans are made anew where they are next asked for.
  void forget_plans();
  /// Where a day's plan is to know more than the watch's normal volume.
  std::function<DayPlan(std::string_view symbol, Shares normal, const Session& session)> plan_of;

  static std::string line_of(const Notice& notice);

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
  };
  struct Accepted {
    Price price;
    Tick tick;
  };
  struct SymbolLine {
    Date day;
    bool ended = false;
    std::vector<Accepted> prices;  // of the day, in order
    Price previous_close, close, high, low;
    Timestamp newest;
    std::deque<std::pair<std::uint64_t, char>> ids;
    std::optional<Tick> held;
    DayVolume volume;
    Price last_override;
    std::vector<std::pair<Timestamp, Timestamp>> halts;  // the second is not set while it lasts
    double missed_minutes = 0, missed_to = 0, missed_share = 0;
    bool hole_since_last = false;
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
  void trade(const Tick& tick, std::vector<std::string>& said);
  void offer(SymbolId id, const Tick& tick, std::vector<std::string>& said);
  void accept(SymbolId id, const Tick& tick, std::vector<std::string>& said);
  void look(WatchLine& w, SymbolLine& s, const Tick& tick, bool first, std::vector<std::string>& said);
  void judge(SymbolId id, const Tick& tick, std::vector<std::string>& said);
  void cancel(const Tick& tick, std::vector<std::string>& said);
  void status(const Tick& tick, std::vector<std::string>& said);
  void hole(const Tick& tick);
  double minutes(const SymbolLine& s, Timestamp time) const;
  VolumeView view(const WatchLine& w, const SymbolLine& s, Timestamp time, bool at_crossing) const;
  void say(WatchLine& w, SymbolLine& s, NoticeKind kind, const Tick& tick, const VolumeView& volume,
           std::vector<std::string>& said, bool told = true);
  std::vector<WatchLine*> watches_of(SymbolId id);

  std::shared_ptr<const Calendar> calendar_;
  const SymbolTable& names_;
  std::vector<WatchLine> watches_;
  std::map<SymbolId, SymbolLine> symbols_;
  Timestamp now_;
};

}  // namespace brimwatch::test
