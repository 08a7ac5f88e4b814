#pragma once
// Data of a day that is over: a source that sends Friday's trades on Sunday, or on Monday before the open. Our clock
// says which day it is; a trade's own time says only how old it is. Pure.
#include <optional>

#include "session/calendar.h"

namespace brimwatch {

constexpr Nanos kPastAfter = kHour;  ///< a feed of delayed data is a quarter of an hour behind, also over midnight

/// The day of `time` where it is over at `now`: its date is an earlier one, and it is older than kPastAfter. Empty: it is
/// of the present, or one of the two is not known.
[[nodiscard]] inline std::optional<Date> past_day(Timestamp time, Timestamp now, const Calendar& calendar) {
  if (!time.is_set() || !now.is_set() || time + kPastAfter >= now) return std::nullopt;
  const Date day = calendar.local_date(time);
  return day < calendar.local_date(now) ? std::optional(day) : std::nullopt;
}

}  // namespace brimwatch
