#pragma once
// The engine with all that it needs round it: calendars, histories, plans, the market's trend, the words of its notices.
// The same for a live feed and a replay; whoever owns it brings ticks and time.
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "app/histories.h"
#include "app/remarks.h"
#include "config/settings.h"
#include "core/notice.h"
#include "core/result.h"
#include "core/symbols.h"
#include "engine/engine.h"
#include "session/calendar.h"

namespace brimwatch {

class Desk {
 public:
  /// Loads calendars and histories and puts the watches in force. A calendar that cannot be loaded is an error; an
  /// unreadable history is a problem to tell (problems()), and leaves its symbol without a judgement of volume.
  static Result<std::unique_ptr<Desk>> open(Settings settings);

  /// Puts new settings in force: watches that stay keep their state.
  Status apply(Settings settings);

  [[nodiscard]] SymbolTable& symbols() { return symbols_; }
  [[nodiscard]] Engine& engine() { return *engine_; }
  [[nodiscard]] const Engine& engine() const { return *engine_; }
  [[nodiscard]] const Settings& settings() const { return settings_; }
  [[nodiscard]] const std::vector<std::string>& problems() const { return problems_; }
  [[nodiscard]] Histories& histories() { return histories_; }
  [[nodiscard]] const Histories& histories() const { return histories_; }

  /// The calendar of a watch, or the default one.
  [[nodiscard]] const Calendar& calendar(std::uint32_t watch) const;
  [[nodiscard]] const Calendar& main_calendar() const { return *main_calendar_; }

  [[nodiscard]] std::shared_ptr<const Calendar> main_calendar_shared() const { return main_calendar_; }

  /// Identity and words of a notice of the engine.
  [[nodiscard]] NoticeRecord word(Notice notice) const;

  /// The market's trend in force.
  [[nodiscard]] Trend trend() const { return trend_; }
  /// Sets the market's trend for that day, where it is to come from an index.
  void begin_day(Date day);

 private:
  Desk() = default;
  Status load_calendars(const Settings& settings);
  [[nodiscard]] DayPlan plan(SymbolId symbol, std::uint32_t watch, const Session& session) const;

  Settings settings_;
  SymbolTable symbols_;
  Histories histories_;
  const Curve* usual_curve_ = nullptr;  ///< of symbols that nothing was learned of
  Remarks remarks_;
  std::vector<DailyBar> index_;
  std::map<std::string, std::shared_ptr<const Calendar>, std::less<>> calendars_;
  std::vector<std::shared_ptr<const Calendar>> watch_calendars_;
  std::shared_ptr<const Calendar> main_calendar_;
  std::unique_ptr<Engine> engine_;
  Trend trend_ = Trend::unknown;
  std::vector<std::string> problems_;
};

}  // namespace brimwatch
