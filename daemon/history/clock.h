#pragma once
// When days are fetched: after the close, again where it failed, before the open, and at once for what is new. Pure: time
// comes in as an argument.
#include <optional>

#include "core/text/timestamp.h"
#include "session/calendar.h"

namespace brimwatch {

/// The newest session that has been over for `after`; unset before the calendar's first.
[[nodiscard]] std::optional<Date> last_session_over(const Calendar& calendar, Timestamp now, Nanos after);

class HistoryClock {
 public:
  static constexpr Nanos kTryAgain = 30 * kMinute;
  static constexpr Nanos kBeforeOpen = kHour;
  static constexpr int kTriesMost = 12;  ///< for one session, till an hour before the open

  /// The session up to which days are wanted now; nothing while there is nothing to do.
  [[nodiscard]] std::optional<Date> due(Timestamp now, const Calendar& calendar, Nanos after);
  /// What became of it: all of it is there, or some failed.
  void done(Timestamp now, bool whole);
  /// A watch or a source is new: at once.
  void ask_anew() { whole_ = false, tries_ = 0, next_ = {}; }

 private:
  std::optional<Date> session_;  ///< of the last round
  bool whole_ = false, morning_ = false;
  int tries_ = 0;
  Timestamp next_;
};

}  // namespace brimwatch
