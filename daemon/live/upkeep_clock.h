#pragma once
// When the program removes old data: once a day, while nothing trades. Pure: time comes in as an argument.
#include <optional>

#include "session/calendar.h"

namespace brimwatch {

class UpkeepClock {
 public:
  /// True once a date: not from kBeforeOpen before a session's open until kAfterClose after its close (notices go first,
  /// and the day's review reads the journal).
  [[nodiscard]] bool due(Timestamp now, const Calendar& calendar) {
    const Date today = calendar.local_date(now);
    if (done_ == today) return false;
    const Session* const session = calendar.on(today);
    if (session != nullptr && now >= session->open - kBeforeOpen && now < session->close + kAfterClose) return false;
    done_ = today;
    return true;
  }

  static constexpr Nanos kBeforeOpen = kHour, kAfterClose = kHour;

 private:
  std::optional<Date> done_;
};

}  // namespace brimwatch
