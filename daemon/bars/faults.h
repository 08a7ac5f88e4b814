#pragma once
// What makes daily bars doubtful, and how such bars are treated. Pure: bars in, findings out. The definitions are ours
// (house), common practice where the trade has one; every treatment is configuration (core/bar_checks.h).
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/bar_checks.h"
#include "core/daily.h"

namespace brimwatch {

struct BarFinding {
  BarFault fault = BarFault::spike;
  Date day;                  ///< of the last row concerned; of `missing` the last day without one
  int count = 1;             ///< rows or days
  std::string text;          ///< a phrase for a person
  std::vector<Date> days{};  ///< each day concerned, ascending; empty where it is the file as a whole
};

[[nodiscard]] const char* to_string(BarFault fault);

struct BarQuestion {
  const BarChecks& checks;
  std::span<const Date> sessions{};    ///< days on which the exchange trades, ascending; empty: not known
  std::optional<Date> last_session{};  ///< the newest that is over; none: age means nothing
  int look_back = 0;                   ///< newest rows that matter; 0: all. Rows are left out wherever they stand
};

struct TrustedBars {
  std::vector<BarFinding> doubts;    ///< in rows that are used, or in the lack of them
  std::vector<BarFinding> left_out;  ///< of rows that are not used
};

/// What would be found, whatever is done with it; `series` has its splits taken out.
[[nodiscard]] std::vector<BarFinding> find_faults(const DailySeries& series, const BarQuestion& question);

/// Rows of days on which the exchange was closed: of another day, stamped in another time zone or by mistake. No volume
/// is judged by them anyway; they are named where files are looked at.
[[nodiscard]] std::optional<BarFinding> rows_of_closed_days(const DailySeries& series, std::span<const Date> sessions);

/// Takes rows out as the configuration says. What is only used is in neither list.
TrustedBars treat(DailySeries& series, const BarQuestion& question);

/// "a spike of 61.20 on 2026-11-20; no volume on 2 days, the last 2026-11-18": empty for none.
[[nodiscard]] std::string in_words(const std::vector<BarFinding>& findings);

}  // namespace brimwatch
