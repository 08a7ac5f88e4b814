#pragma once
// Days and numbers as files of daily bars write them. Pure.
#include <optional>
#include <string_view>

#include "bars/daily_header.h"
#include "core/price.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// 2026-11-25 with or without a time behind it, 2026/11/25, 20261125, 25-Nov-2026, 25-Nov-26, Nov 25, 2026; by
/// `order` 25.11.2026 or 11/25/2026; seconds, milli-, micro- or nanoseconds since 1970, whose day is that of UTC.
[[nodiscard]] std::optional<Date> read_daily_date(std::string_view text, DayOrder order);

/// A plain number, also in scientific writing.
[[nodiscard]] std::optional<double> read_plain_number(std::string_view text);

/// Shares, 0 or more; -1 when it is none. Between thousands may stand commas, blanks or apostrophes; "1.34M" is one too.
[[nodiscard]] double read_daily_volume(std::string_view text, const DailyLayout& layout);

/// Into a price, not out as an optional: to copy that, four times a row, took as long as to read it. False for what is
/// none; 0 is one ("not known") only where DailyRows::every asks for it.
[[nodiscard]] bool read_daily_price(std::string_view text, const DailyLayout& layout, DailyRows rows, Price& price);

/// "2", "0.1", "2:1", "3/2", "2 for 1": new shares for one old one. Empty for what tells of none (0, 1, no text).
[[nodiscard]] std::optional<double> read_split(std::string_view text);

}  // namespace brimwatch
