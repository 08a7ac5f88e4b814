#include "engine/day_clock.h"

#include <algorithm>

namespace brimwatch {
namespace {

Timestamp local_midnight(const Calendar& calendar, Date day) {
  const Timestamp utc{static_cast<Nanos>(day.days) * kDayNanos};
  const Nanos guess = calendar.offset(utc).count() * kSecond;
  const Nanos offset = calendar.offset(utc - guess).count() * kSecond;
  return utc - offset;
}

}  // namespace

DayClock::Change DayClock::step(Timestamp time) {
  if (time < edge_) return Change::none;
  if (session_ != nullptr && !over_ && time >= end()) {
    over_ = true;
    edge_ = midnight_;
    return Change::day_over;
  }
  if (time < midnight_) return Change::none;
  day_ = calendar_->local_date(time);
  session_ = calendar_->on(day_);
  over_ = false;
  begin_ = std::min(local_midnight(*calendar_, day_), time);
  midnight_ = std::max(local_midnight(*calendar_, day_ + 1), time + 1);
  edge_ = session_ == nullptr ? midnight_ : std::min(end(), midnight_);
  if (session_ == nullptr) {
    open_ = close_ = break_start_ = break_end_ = {};
    return Change::new_date;
  }
  open_ = session_->open;
  close_ = session_->close;
  const bool has_break = session_->break_start.is_set();
  break_start_ = has_break ? session_->break_start : close_;
  break_end_ = has_break ? session_->break_end : close_;
  to_390_ = session_->minutes() > 0 ? 390 / session_->minutes() : 1;
  return Change::new_date;
}

}  // namespace brimwatch
