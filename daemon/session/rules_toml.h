#pragma once
// Reads calendar files (config/calendars/*.toml and the user's own of the same form).
#include <string_view>

#include "core/result.h"
#include "session/rules.h"

namespace brimwatch {

/// A whole calendar. Errors name file, line and column.
[[nodiscard]] Result<CalendarRules> parse_calendar(std::string_view text, std::string_view file);

/// Adds the listed days of a user's file (mic and day = [...]) to `rules`; a file for another MIC changes nothing.
[[nodiscard]] Status add_user_days(std::string_view text, std::string_view file, CalendarRules& rules);

}  // namespace brimwatch
