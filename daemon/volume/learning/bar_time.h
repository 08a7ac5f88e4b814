#pragma once
// The many spellings of a bar's time. Pure.
#include <cstdint>
#include <optional>
#include <string_view>

#include "core/text/timestamp.h"

namespace brimwatch {

/// Minutes of the day of 9:30, 09:30, 09:30:00, 09:30:00.000, 0930, 093000 or 9:30 AM; empty with anything after it.
[[nodiscard]] std::optional<int> parse_clock(std::string_view text);

/// 2026-11-25, 20261125, 11/25/2026 (month first).
[[nodiscard]] std::optional<Date> parse_any_date(std::string_view text);

struct BarStamp {
  Date day;
  int minute = 0;         ///< of that day, as written
  bool absolute = false;  ///< day and minute are UTC
  std::string_view zone;  ///< of day and minute, where one is written after them: America/New_York
};

/// A date and a time of day in one: with 'T', blank or nothing between, with Z, UTC, an offset, a zone's name or without,
/// or as seconds, milliseconds, microseconds or nanoseconds since 1970.
[[nodiscard]] std::optional<BarStamp> parse_stamp(std::string_view text);

}  // namespace brimwatch
