#include "live/evening_clock.h"

#include <cstdio>

namespace brimwatch {
namespace {

int minutes_of_clock(const std::string& text) {
  int hour = 0, minute = 0;
  std::sscanf(text.c_str(), "%2d:%2d", &hour, &minute);
  return hour * 60 + minute;
}

}  // namespace

std::optional<Date> EveningClock::due(Timestamp now, const Calendar& calendar, const EveningSettings& settings) {
  if (settings.review_at.empty()) return std::nullopt;
  const Session* session = calendar.of(now);
  if (session == nullptr || told_ == session->day) return std::nullopt;
  const Timestamp midnight{session->day.days * kDayNanos - calendar.offset(session->close).count() * kSecond};
  const Timestamp at = std::max(midnight + minutes_of_clock(settings.review_at) * kMinute, session->close + kAfterClose);
  if (now < at) return std::nullopt;
  told_ = session->day;
  return told_;
}

}  // namespace brimwatch
