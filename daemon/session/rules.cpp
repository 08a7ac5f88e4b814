#include "session/rules.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace brimwatch {
namespace {

unsigned weekday_of(Date date) { return date.weekday().c_encoding(); }

Date nth_weekday(int year, unsigned month, unsigned weekday, int nth) {
  using namespace std::chrono;
  if (nth < 0) {
    const year_month_weekday_last last{std::chrono::year{year}, std::chrono::month{month},
                                       weekday_last{std::chrono::weekday{weekday}}};
    return Date{static_cast<std::int32_t>(sys_days{last}.time_since_epoch().count())};
  }
  const Date first = Date::of(year, month, 1);
  return first + static_cast<int>((weekday + 7 - weekday_of(first)) % 7) + 7 * (nth - 1);
}

/// Day of March or September, by the approximation that the almanac office of Japan's dates follow from 1980 to 2099.
unsigned equinox_day(int year, double base) {
  const int since = year - 1980;
  return static_cast<unsigned>(static_cast<int>(base + 0.242194 * since) - since / 4);
}

using Days = std::set<Date>;

bool is_weekend(const CalendarRules& rules, Date day) { return (rules.weekend >> weekday_of(day) & 1) != 0; }

/// Moves one holiday off its weekend, as its rule says.
void observe(const CalendarRules& rules, const DayRule& rule, Date day, Days& holidays) {
  switch (rule.observed) {
    case Observed::none:
      return;
    case Observed::nearest:
      if (weekday_of(day) == 0) holidays.insert(day + 1);
      if (weekday_of(day) == 6 && (day - 1).ymd().month() == day.ymd().month()) holidays.insert(day - 1);
      return;
    case Observed::forward:
      if (!is_weekend(rules, day)) return;
      while (is_weekend(rules, day) || holidays.contains(day)) day = day + 1;
      holidays.insert(day);
      return;
    case Observed::sunday:
      if (weekday_of(day) != 0) return;
      while (holidays.contains(day)) day = day + 1;
      holidays.insert(day);
      return;
  }
}

Days holidays_of(const CalendarRules& rules) {
  Days holidays;
  for (int year = rules.first_year; year <= rules.last_year + 1; ++year) {  // 1 January may be made up for in December
    for (const DayRule& rule : rules.holidays) {
      if (const auto day = rule.in(year)) holidays.insert(*day);
    }
  }
  for (const auto& [day, listed] : rules.days) {
    if (listed.closed) holidays.insert(day);
  }
  for (int year = rules.first_year; year <= rules.last_year + 1; ++year) {
    for (const DayRule& rule : rules.holidays) {
      if (const auto day = rule.in(year)) observe(rules, rule, *day, holidays);
    }
  }
  if (rules.between) {
    Days more;
    for (const Date day : holidays) {
      if (holidays.contains(day + 2) && !is_weekend(rules, day + 1)) more.insert(day + 1);
    }
    holidays.merge(more);
  }
  return holidays;
}

LocalSession* find(std::vector<LocalSession>& sessions, Date day, bool or_before) {
  auto at =
      std::upper_bound(sessions.begin(), sessions.end(), day, [](Date d, const LocalSession& s) { return d < s.day; });
  if (at == sessions.begin()) return nullptr;
  --at;
  return at->day == day || or_before ? &*at : nullptr;
}

void shorten(const CalendarRules& rules, std::vector<LocalSession>& sessions) {
  for (int year = rules.first_year; year <= rules.last_year; ++year) {
    for (const EarlyClose& early : rules.early) {
      const auto day = early.rule.in(year);
      if (!day || (early.weekdays >> weekday_of(*day) & 1) == 0) continue;
      LocalSession* session = find(sessions, *day, early.or_before);
      if (session != nullptr && session->close > early.close) {
        session->close = early.close;
        session->half_day = true;
      }
    }
  }
}

void apply_listed(const CalendarRules& rules, std::vector<LocalSession>& sessions) {
  for (const auto& [day, listed] : rules.days) {
    LocalSession* session = find(sessions, day, false);
    if (session == nullptr || listed.closed) continue;
    const int full = session->close - session->open;
    session->open = listed.open.value_or(session->open);
    session->close = listed.close.value_or(session->close);
    if (session->close - session->open < full) session->half_day = true;
  }
}

}  // namespace

std::optional<Date> DayRule::in(int year) const {
  if (year < since || year > until || std::find(except.begin(), except.end(), year) != except.end()) return std::nullopt;
  switch (by) {
    case By::date:
      return Date::of(year, month, day) + plus;
    case By::nth_weekday:
      return nth_weekday(year, month, weekday, nth) + plus;
    case By::weekday_before: {
      Date at = Date::of(year, month, day) - 1;
      while (weekday_of(at) != weekday) at = at - 1;
      return at + plus;
    }
    case By::easter:
      return easter_sunday(year) + easter + plus;
    case By::vernal_equinox:
      return Date::of(year, 3, equinox_day(year, 20.8431)) + plus;
    case By::autumnal_equinox:
      return Date::of(year, 9, equinox_day(year, 23.2488)) + plus;
  }
  return std::nullopt;
}

// The anonymous Gregorian algorithm (Meeus, "Astronomical Algorithms", chapter 8).
Date easter_sunday(int year) {
  const int a = year % 19, b = year / 100, c = year % 100;
  const int d = b / 4, e = b % 4, f = (b + 8) / 25, g = (b - f + 1) / 3;
  const int h = (19 * a + b - d - g + 15) % 30;
  const int i = c / 4, k = c % 4, l = (32 + 2 * e + 2 * i - h - k) % 7;
  const int m = (a + 11 * h + 22 * l) / 451;
  const int n = h + l - 7 * m + 114;
  return Date::of(year, static_cast<unsigned>(n / 31), static_cast<unsigned>(n % 31 + 1));
}

LocalSession regular_session(const CalendarRules& rules, Date day) {
  LocalSession session{day, rules.open, rules.close, false};
  for (const OlderHours& older : rules.hours) {
    if (!(day < older.before)) continue;
    session.open = older.open.value_or(session.open);
    session.close = older.close.value_or(session.close);
  }
  return session;
}

std::vector<LocalSession> sessions_of(const CalendarRules& rules) {
  const Days holidays = holidays_of(rules);
  std::vector<LocalSession> sessions;
  for (Date day = Date::of(rules.first_year, 1, 1); day <= Date::of(rules.last_year, 12, 31); day = day + 1) {
    const auto listed = rules.days.find(day);
    const bool opened = listed != rules.days.end() && !listed->second.closed;  // the user's word wins over the rules
    if (!opened && (is_weekend(rules, day) || holidays.contains(day))) continue;
    sessions.push_back(regular_session(rules, day));
  }
  shorten(rules, sessions);
  apply_listed(rules, sessions);
  return sessions;
}

}  // namespace brimwatch
