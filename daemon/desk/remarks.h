#pragma once
// Remarks on a crossing besides price and volume: a half-day, a report or a split that is near,
// the stock's strength against the index. Words for the notice's note; nothing here judges.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/settings.h"
#include "core/daily.h"
#include "core/notice.h"
#include "session/calendar.h"
#include "weekend/events.h"

namespace brimwatch {

class Remarks {
 public:
  /// Reads the corporate events that the configuration names. A file that cannot be read is a problem to tell.
  void load(const HistorySettings& history, std::vector<std::string>& problems);

  /// Whether the list of splits has one that takes effect at that day's opening.
  [[nodiscard]] bool has_split(std::string_view symbol, Date day) const;

  /// What it rests on: all may be empty.
  struct Grounds {
    const std::vector<DailyBar>&daily, &index;
    const std::string& doubts;  ///< in the stock's daily bars
  };
  /// Phrases joined by "; ", empty when there is nothing to say. `calendar` is the watch's.
  [[nodiscard]] std::string at(const Notice& notice, std::string_view symbol, const Calendar& calendar,
                               const Grounds& grounds) const;

  /// The first report on or after that day, as far as the list of report dates goes.
  [[nodiscard]] std::optional<Date> report_after(std::string_view symbol, Date from) const {
    return next_report(reports_, symbol, from);
  }

  /// Splits and dividends by symbol.
  [[nodiscard]] const PriceEvents& events() const { return events_; }

 private:
  PriceEvents events_;
  ReportDates reports_;
};

}  // namespace brimwatch
