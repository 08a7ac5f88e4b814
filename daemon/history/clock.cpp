#include "history/clock.h"

namespace brimwatch {

std::optional<Date> last_session_over(const Calendar& calendar, Timestamp now, Nanos after) {
  const Session* session = calendar.on(calendar.local_date(now));
  if (session == nullptr || session->close + after > now) session = calendar.before(calendar.local_date(now));
  return session == nullptr ? std::nullopt : std::optional(session->day);
}

std::optional<Date> HistoryClock::due(Timestamp now, const Calendar& calendar, Nanos after) {
  const auto session = last_session_over(calendar, now, after);
  if (!session) return std::nullopt;
  if (session_ != session) {
    session_ = session;
    morning_ = false;
    ask_anew();
  }
  if (whole_ || now < next_) return std::nullopt;
  const Session* const next = calendar.at_or_after(now);
  const bool is_before_open = next != nullptr && next->open > now && next->open - now <= kBeforeOpen;
  if (is_before_open && !morning_) morning_ = true, tries_ = 0;
  return tries_ < kTriesMost ? session : std::nullopt;
}

void HistoryClock::done(Timestamp now, bool whole) {
  whole_ = whole;
  ++tries_;
  next_ = now + kTryAgain;
}

}  // namespace brimwatch
