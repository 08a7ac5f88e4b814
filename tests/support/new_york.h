#pragma once
// New York's sessions and clock.
#include "session/calendar.h"

namespace brimwatch::test {

inline const std::shared_ptr<const Calendar>& shared_new_york() {
  static const std::shared_ptr<const Calendar> kCalendar = Calendar::load("XNYS", {}).value();
  return kCalendar;
}
inline const Calendar& new_york() { return *shared_new_york(); }

inline constexpr Date kThanksgivingEve = Date::of(2026, 11, 25);  ///< a full session; the Friday after it is a half day

/// In winter: Eastern standard time, five hours behind UTC.
constexpr Timestamp new_york_time(Date day, int hour, int minute) {
  return Timestamp{day.days * kDayNanos + (hour + 5) * kHour + minute * kMinute};
}

inline constexpr Timestamp kTen = new_york_time(Date::of(2025, 11, 25), 10, 0);
inline constexpr Timestamp kMorning = kTen + 2'200 * kSecond;

}  // namespace brimwatch::test
