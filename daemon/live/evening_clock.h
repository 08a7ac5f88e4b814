#pragma once
// When the day's review is due: once a day, after the close.
#include <optional>

#include "config/settings.h"
#include "session/calendar.h"

namespace brimwatch {

/// When the review is due. Pure: time comes in as an argument.
class EveningClock {
 public:
  /// The day whose review is to be made now; told once. A day's review is due from `review_at` on, but not before the
  /// session has been over for kAfterClose (its day-end notices come first), until the local day ends.
  [[nodiscard]] std::optional<Date> due(Timestamp now, const Calendar& calendar, const EveningSettings& settings);

  static constexpr Nanos kAfterClose = 15 * kMinute;

 private:
  std::optional<Date> told_;
};

}  // namespace brimwatch
