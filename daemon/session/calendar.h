#pragma once
// When an exchange trades. Calendars are data (config/calendars/*.toml): zone, regular hours, breaks, holiday rules,
// listed days; a user's file adds or changes days. Pure once loaded; sessions are in UTC, daylight saving through tzdata.
#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

struct Session {
  Date day;                          ///< trade date
  Timestamp open, close;             ///< regular hours
  Timestamp break_start, break_end;  ///< not set when there is none
  bool half_day = false;
  bool expiry =
      false;  ///< quarterly expiry: third Friday of March, June, September, December (the day before when closed)

  /// Minutes of trading from open to close, breaks left out.
  [[nodiscard]] double minutes() const;
  /// Minutes of trading since the open at `time`, 0..minutes(); stands still during a break.
  [[nodiscard]] double elapsed(Timestamp time) const;
  /// open <= time < close and not in the break.
  [[nodiscard]] bool is_open(Timestamp time) const;
};

struct CalendarRules;

class Calendar {
 public:
  /// `mic` is one of the built-in ones (XNYS, XTSE, XLON, XTKS); `user_files` are TOML files of the same form, whose days
  /// win. Without such files it is the same calendar each time. Any thread.
  static Result<std::shared_ptr<const Calendar>> load(std::string_view mic, const std::vector<std::string>& user_files);
  static std::vector<std::string> known();

  /// The session of that trade date; nullptr when closed or outside the years the data covers.
  [[nodiscard]] const Session* on(Date day) const;
  /// The session that is open at `time`, or else the next one; nullptr past the last year.
  [[nodiscard]] const Session* at_or_after(Timestamp time) const;
  /// The session that a tick at `time` belongs to: same local date; nullptr when that date has none.
  [[nodiscard]] const Session* of(Timestamp time) const;
  [[nodiscard]] const Session* before(Date day) const;
  [[nodiscard]] Date local_date(Timestamp time) const;
  [[nodiscard]] std::chrono::seconds offset(Timestamp time) const;  ///< east of UTC
  [[nodiscard]] const std::string& mic() const { return mic_; }
  [[nodiscard]] const std::string& zone() const { return zone_; }
  [[nodiscard]] const std::vector<Session>& sessions() const { return sessions_; }

 private:
  static Result<std::shared_ptr<const Calendar>> lay_out(std::string_view mic,
                                                         const std::vector<std::string>& user_files);
  void fill(const CalendarRules& rules);
  [[nodiscard]] Timestamp utc(Date day, int minutes) const;

  std::string mic_, zone_;
  std::vector<Session> sessions_;  ///< ascending
  struct Shift {
    Timestamp from;
    std::chrono::seconds offset;
  };
  std::vector<Shift> shifts_;  ///< the zone's changes of offset over those years
};

}  // namespace brimwatch
