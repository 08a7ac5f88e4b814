#pragma once
// Corporate events: splits and dividends that move prices without anyone trading, and report dates. Pure; the daemon may
// call every function here with its own tables.
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/daily.h"
#include "core/result.h"
#include "core/split.h"

namespace brimwatch {

/// Takes effect at the opening of `day`. A split has `ratio` new shares for one old; a dividend has `amount` per share.
struct PriceEvent {
  Date day;
  double ratio = 1;
  Price amount;

  [[nodiscard]] bool is_split() const { return ratio != 1; }
};

using PriceEvents = std::map<std::string, std::vector<PriceEvent>, std::less<>>;  ///< by symbol, ascending by day
using ReportDates = std::map<std::string, std::vector<Date>, std::less<>>;        ///< by symbol, ascending

/// CSV with columns date,symbol and ratio (2, 2:1, 3:2, 1:10) and/or dividend (per share). Columns by name.
[[nodiscard]] Result<PriceEvents> parse_price_events(std::string_view text, std::string_view name);

/// CSV with columns date,symbol.
[[nodiscard]] Result<ReportDates> parse_report_dates(std::string_view text, std::string_view name);

struct Adjusted {
  int applied = 0;   ///< events whose jump was in the prices, now taken out
  int already = 0;   ///< splits whose jump is not in the prices: the source had adjusted them already
  std::string told;  ///< one phrase for a person, empty when nothing happened
};

/// Brings the bars before each event to the terms of the last bar: prices / ratio, volumes x ratio; a dividend of at
/// least `dividend_least` percent of the close before scales prices alone. Events after the last bar are left for later.
/// A split is applied only when the prices show its jump, so that data that is adjusted already is not adjusted twice.
Adjusted adjust_history(std::vector<DailyBar>& bars, const std::vector<PriceEvent>& events, double dividend_least);

/// A price of `then` in terms of `now`: over all events with then < day <= now. `close_before` looks up the close before
/// a dividend and may return 0 when it is unknown (the dividend is then left out).
struct Terms {
  double price_factor = 1;  ///< new price = old price x factor
  double volume_factor = 1;
  std::string told;  ///< "2:1 split on 2026-11-20", empty when nothing happened
};
[[nodiscard]] Terms terms_between(const std::vector<PriceEvent>& events, Date then, Date now);
void put_in_terms(std::vector<DailyBar>& bars, const Terms& terms);

/// Puts a split that a file of bars tells of itself among `events`. One told already for that day stays alone, since the
/// two may write its ratio with other roundings.
void add_split(std::vector<PriceEvent>& events, const SplitOn& split);

/// The first report on or after `from`.
[[nodiscard]] std::optional<Date> next_report(const ReportDates& reports, std::string_view symbol, Date from);

/// "reports 2026-12-03, in 8 days": empty when no report is within `days`.
[[nodiscard]] std::string report_warning(const ReportDates& reports, std::string_view symbol, Date from, int days);

/// "2:1 split on 2026-12-01", "dividend of 0.55 on 2026-12-01": events after `from` and within `days`; empty when none.
[[nodiscard]] std::string event_warning(const PriceEvents& events, std::string_view symbol, Date from, int days);

}  // namespace brimwatch
