#pragma once
// The engine with all that it needs: calendars, histories, plans, the market's trend, the words of its notices.
// The same for a live feed and a replay; whoever owns it brings ticks and time.
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "config/settings.h"
#include "core/notice.h"
#include "core/result.h"
#include "core/symbols.h"
#include "desk/histories.h"
#include "desk/remarks.h"
#include "engine/engine.h"
#include "session/calendar.h"

namespace brimwatch {

using Calendars = std::map<Mic, std::shared_ptr<const Calendar>>;

/// Settings with all that had to be read for them.
struct DeskParts {
  explicit DeskParts(Settings wanted) : settings(std::move(wanted)), watches(settings.watches) {}
  Settings settings;
  PreparedWatches watches;
  Calendars calendars;
  std::vector<std::shared_ptr<const Calendar>> calendar_of_symbol;  ///< by WatchList::symbol_number
  std::shared_ptr<const Calendar> main_calendar;
  Histories histories;
  Remarks remarks;
  std::vector<DailyBar> index;
  std::string
      index_doubt;  ///< why it gives no trend: a step that no market makes, sessions without a row; empty: it gives one
  std::vector<std::string> problems;
};

/// A feed that plays a recorded day: its times are not ours.
[[nodiscard]] bool is_rehearsal(const Settings& settings);

class Desk {
 public:
  /// Loads calendars and histories and puts the watches in force. A calendar that cannot be loaded is an error; an
  /// unreadable history is a problem to tell (problems()), and leaves its symbol without a judgement of volume.
  static Result<std::unique_ptr<Desk>> open(Settings settings);

  /// All that takes long when settings are put in force: reads calendars and histories, lays the watches out. Any thread.
  static Result<DeskParts> prepare(Settings settings);
  /// The short remainder, on the engine's thread: watches that stay keep their state.
  void apply(DeskParts&& parts);
  Status apply(Settings settings);

  [[nodiscard]] SymbolTable& symbols() { return symbols_; }
  [[nodiscard]] Engine& engine() { return *engine_; }
  [[nodiscard]] const Engine& engine() const { return *engine_; }
  [[nodiscard]] const Settings& settings() const { return settings_; }
  [[nodiscard]] const std::vector<std::string>& problems() const { return problems_; }
  [[nodiscard]] Histories& histories() { return histories_; }
  [[nodiscard]] const Histories& histories() const { return histories_; }
  [[nodiscard]] const Remarks& remarks() const { return remarks_; }

  /// The calendar of a watch, or the default one; so for a watch that is not there.
  [[nodiscard]] const Calendar& calendar(std::uint32_t watch) const;
  [[nodiscard]] const Calendar& main_calendar() const { return *main_calendar_; }
  /// The day that is over which a tick of `time` is of, when it comes at `now`; see session/past_day.h.
  [[nodiscard]] std::optional<Date> past_day(SymbolId symbol, Timestamp time, Timestamp now) const;

  [[nodiscard]] std::shared_ptr<const Calendar> main_calendar_shared() const { return main_calendar_; }

  /// What a price of `then` has to be multiplied by to be in the terms of `now`: the listed splits between them.
  [[nodiscard]] double split_factor(std::string_view symbol, Date then, Date now) const;
  /// What stands in for a price before the first trade, in the terms of `today`; 0: nothing does.
  [[nodiscard]] Price last_close(std::uint32_t watch, Date today) const;

  /// Identity and words of a notice of the engine.
  [[nodiscard]] NoticeRecord word(Notice notice) const;

  /// The market's trend in force.
  [[nodiscard]] Trend trend() const { return trend_; }
  /// "; the index's bars end 2026-10-02, too old: the market's trend is not known": empty when they do not.
  [[nodiscard]] std::string old_index(Date day) const;
  /// Why the index's bars give no trend; empty: they may.
  [[nodiscard]] const std::string& index_doubt() const { return index_doubt_; }
  /// Sets the market's trend for that day, where it is to come from an index.
  void begin_day(Date day);

 private:
  Desk() = default;
  [[nodiscard]] DayPlan plan(SymbolId symbol, std::uint32_t watch, const Session& session) const;

  Settings settings_;
  SymbolTable symbols_;
  Histories histories_;
  const Curve* usual_curve_ = nullptr;  ///< of symbols that nothing was learned of
  Remarks remarks_;
  std::vector<DailyBar> index_;
  std::string index_doubt_;
  Calendars calendars_;
  std::shared_ptr<const Calendar> main_calendar_;
  std::unique_ptr<Engine> engine_;
  Trend trend_ = Trend::unknown;
  std::vector<std::string> problems_;
};

}  // namespace brimwatch
