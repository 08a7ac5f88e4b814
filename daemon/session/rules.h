#pragma once
// From the rules of a calendar file to its sessions, in local time. Pure: no files, no time zones.
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/text/timestamp.h"

namespace brimwatch {

/// What to do when a holiday falls on a weekend.
enum class Observed : std::uint8_t {
  none,
  nearest,  ///< Saturday: the Friday before, unless that ends its month; Sunday: the Monday after
  forward,  ///< the next weekday that is not a holiday already
  sunday,   ///< only for Sundays: the next day that is not a holiday already
};

/// One day in each year of a span: by date, by the n-th weekday of a month, by distance from Easter or by an equinox.
struct DayRule {
  enum class By : std::uint8_t {
    date,
    nth_weekday,
    weekday_before,
    easter,
    vernal_equinox,
    autumnal_equinox
  } by = By::date;
  unsigned month = 1, day = 1;
  unsigned weekday = 1;  ///< 0 = Sunday
  int nth = 1;           ///< -1: the last
  int easter = 0;        ///< days after Easter Sunday
  int plus = 0;          ///< days added to what the rule gives
  int since = 0, until = 9999;
  std::vector<int> except;  ///< years
  Observed observed = Observed::none;

  [[nodiscard]] std::optional<Date> in(int year) const;  ///< before any moving for weekends
};

struct EarlyClose {
  DayRule rule;
  int close = 0;             ///< minutes after local midnight
  unsigned weekdays = 0x7F;  ///< bit 0 = Sunday
  bool or_before = false;    ///< when the day is no session, the last one before it
};

/// One listed day; wins over every rule.
struct ListedDay {
  bool closed = false;
  std::optional<int> open, close;  ///< minutes after local midnight
};

struct OlderHours {
  Date before;
  std::optional<int> open, close;
};

struct CalendarRules {
  std::string mic, zone;
  int first_year = 0, last_year = 0;
  int open = 0, close = 0, break_start = 0, break_end = 0;  ///< minutes after local midnight; equal: no break
  unsigned weekend = 0b1000001;
  bool between = false;  ///< a weekday between two holidays is one too
  std::vector<OlderHours> hours;
  std::vector<DayRule> holidays;
  std::vector<EarlyClose> early;
  std::map<Date, ListedDay> days;
};

/// A session in local minutes.
struct LocalSession {
  Date day;
  int open, close;
  bool half_day;
};

/// The day's hours without early closes and listed days.
[[nodiscard]] LocalSession regular_session(const CalendarRules& rules, Date day);

/// Every session of the years that the rules cover, ascending.
[[nodiscard]] std::vector<LocalSession> sessions_of(const CalendarRules& rules);

/// Gregorian Easter Sunday.
[[nodiscard]] Date easter_sunday(int year);

}  // namespace brimwatch
