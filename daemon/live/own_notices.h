#pragma once
// Notices about the program itself and its feeds: dated, counted and worded. Counts go on where the journal's end, so
// that two of one day never share an id.
#include <string>

#include "core/notice.h"
#include "live/restored_state.h"
#include "session/calendar.h"

namespace brimwatch {

class OwnNotices {
 public:
  /// From what the journal knows. Where it could not be read: `unread_at`, and counts begin where no others are (two
  /// starts in one minute without a journal apart).
  void go_on_from(const OwnCounts& counts);
  void go_on_unread(Timestamp now, const Calendar& calendar);

  /// Whether that was said on that day already, as far as it is known.
  [[nodiscard]] bool has_said(Date day, const std::string& name, NoticeKind kind) const {
    return counts_.contains({day.days, name, kind});
  }
  /// Another machine has said it: counts go on after it.
  void note(const NoticeRecord& record);
  /// `name` is a feed's or a channel's; empty: the program.
  [[nodiscard]] NoticeRecord make(const std::string& name, Notice notice, Timestamp now, const Calendar& calendar);

 private:
  OwnCounts counts_;
  int begin_ = 0;
};

}  // namespace brimwatch
