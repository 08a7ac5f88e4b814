#pragma once
// The morning's line, before the open: the daemon lives, and what is ready. Pure.
#include <optional>
#include <string>
#include <vector>

#include "core/snapshot.h"
#include "desk/desk.h"

namespace brimwatch {

/// Under this name the line is counted and kept, so that it comes once a day also after a restart.
inline constexpr const char* kMorning = "morning";

/// Whether it is time: a session of this day is ahead, and the clock of the exchange shows `at` ("hh:mm") or later.
[[nodiscard]] bool is_morning(const std::string& at, const Calendar& calendar, Timestamp now);

/// "all is ready for today, a half day: 09:30 to 13:00; 24 pivots of 20 symbols; feed tape up; normal volumes: 18 known
/// to 2026-11-25, ..."; with a trouble first where there is one, and at the end the watches that will tell nothing.
[[nodiscard]] std::string morning_line(const Desk& desk, const std::vector<FeedRow>& feeds,
                                       const std::string& journal_trouble, Timestamp now);

}  // namespace brimwatch
