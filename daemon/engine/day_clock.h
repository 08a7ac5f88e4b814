#pragma once
// The trade date of one calendar, moved by the ticks' own times. Between two edges nothing changes, so that a tick costs
// one comparison.
#include <memory>

#include "core/text/timestamp.h"
#include "session/calendar.h"

namespace brimwatch {

constexpr Nanos kDayEndAfter = 10 * kMinute;  ///< a day ends this long after the close: closing prints come late

class DayClock {
 public:
  explicit DayClock(std::shared_ptr<const Calendar> calendar) : calendar_(std::move(calendar)) {}

  enum class Change : std::uint8_t { none, day_over, new_date };

  /// Inside the stretch in which nothing changes?
  [[nodiscard]] bool holds(Timestamp time) const { return time >= begin_ && time < edge_; }
  /// Before the local date in force: belongs to a day that is over.
  [[nodiscard]] bool is_past(Timestamp time) const { return time < begin_; }
  /// Takes one step towards `time`; call again until it says none.
  Change step(Timestamp time);

  [[nodiscard]] Date day() const { return day_; }
  [[nodiscard]] const Session* session() const { return session_; }  ///< nullptr: none on this date
  [[nodiscard]] bool is_over() const { return over_; }               ///< past close + 10 minutes
  [[nodiscard]] Timestamp end() const { return session_->close + kDayEndAfter; }
  [[nodiscard]] Timestamp begin() const { return begin_; }  ///< of the local date
  [[nodiscard]] Timestamp edge() const { return edge_; }
  /// The time is at least this.
  [[nodiscard]] Timestamp reached() const { return over_ ? end() : begin_; }
  [[nodiscard]] const Calendar& calendar() const { return *calendar_; }
  [[nodiscard]] const std::shared_ptr<const Calendar>& shared_calendar() const { return calendar_; }

  [[nodiscard]] bool is_open(Timestamp time) const {
    return time >= open_ && time < close_ && !(time >= break_start_ && time < break_end_);
  }
  /// Minutes of a full session of 390 to one of this session's.
  [[nodiscard]] double to_390() const { return to_390_; }
  /// Trading time since the open, breaks left out; 0 before it, all of it after the close.
  [[nodiscard]] Nanos elapsed(Timestamp time) const {
    const Timestamp t = time < open_ ? open_ : (time > close_ ? close_ : time);
    if (t <= break_start_) return t - open_;
    return t < break_end_ ? break_start_ - open_ : (t - open_) - (break_end_ - break_start_);
  }

 private:
  std::shared_ptr<const Calendar> calendar_;
  const Session* session_ = nullptr;
  Date day_;
  bool over_ = false;
  double to_390_ = 1;
  Timestamp begin_, edge_, midnight_;
  Timestamp open_, close_, break_start_, break_end_;  ///< without a break: both at the close
};

}  // namespace brimwatch
