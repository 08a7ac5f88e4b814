#pragma once
// The header of a file of daily bars: which column holds what, by the names that people's files have, and how its numbers
// and days are written. Pure.
#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "bars/daily_text.h"
#include "core/result.h"

namespace brimwatch {

enum DailyColumn { kDate, kOpen, kHigh, kLow, kClose, kVolume, kSplit, kSymbol, kFrom, kDailyColumns };

enum class DayOrder : std::uint8_t { year_first, day_first, month_first };

struct DailyLayout {
  std::array<int, kDailyColumns> at{};  ///< -1: no such column
  std::size_t width = 0;                ///< fields of the header
  char delimiter = ',';
  bool decimal_comma = false;  ///< 48,35 is forty-eight thirty-five
  DayOrder order = DayOrder::year_first;
  std::vector<std::string> choices;  ///< see DailySeries

  [[nodiscard]] bool has(DailyColumn column) const { return at[column] >= 0; }
  [[nodiscard]] bool has_any_price() const { return has(kOpen) || has(kHigh) || has(kLow) || has(kClose); }
  [[nodiscard]] bool has_all_prices() const { return has(kOpen) && has(kHigh) && has(kLow) && has(kClose); }
};

/// Our name of a column, for messages.
[[nodiscard]] const char* name_of(DailyColumn column);

/// From the first line; `rest` is looked into for what only the rows tell (decimal commas, the order of day and month).
[[nodiscard]] Result<DailyLayout> read_daily_header(std::string_view line, std::string_view rest, std::string_view name,
                                                    DailyRows rows);

}  // namespace brimwatch
