#pragma once
// The days of a calendar's sessions, for what only needs to know on which days the exchange trades.
#include <vector>

#include "session/calendar.h"

namespace brimwatch {

/// Ascending.
[[nodiscard]] inline std::vector<Date> session_days(const Calendar& calendar) {
  std::vector<Date> out;
  out.reserve(calendar.sessions().size());
  for (const Session& session : calendar.sessions()) out.push_back(session.day);
  return out;
}

/// Those of them that close early, ascending.
[[nodiscard]] inline std::vector<Date> half_days(const Calendar& calendar) {
  std::vector<Date> out;
  for (const Session& session : calendar.sessions()) {
    if (session.half_day) out.push_back(session.day);
  }
  return out;
}

}  // namespace brimwatch
