#include "session/calendar.h"

#include <algorithm>
#include <functional>
#include <map>
#include <mutex>

#include "config/embedded.h"
#include "files/text_file.h"
#include "session/rules_toml.h"
#include "session/zone.h"

namespace brimwatch {
namespace {

Result<CalendarRules> built_in(std::string_view mic) {
  for (const EmbeddedFile& file : embedded_calendars()) {
    if (file.name.substr(0, file.name.find('.')) == mic) return parse_calendar(file.text, file.name);
  }
  std::string known;
  for (const std::string& name : Calendar::known()) known += " " + name;
  return fail("calendar \"" + std::string(mic) + "\": not known; there are" + known);
}

bool is_third_friday(Date day) {
  const unsigned d = static_cast<unsigned>(day.ymd().day());
  return day.weekday() == std::chrono::Friday && d >= 15 && d <= 21;
}

/// Marks the quarterly expiry: the third Friday of the quarter's last month, or the session before it when that is
/// closed.
void mark_expiries(std::vector<Session>& sessions) {
  for (std::size_t i = 0; i < sessions.size(); ++i) {
    const Date day = sessions[i].day;
    const Date next = i + 1 < sessions.size() ? sessions[i + 1].day : day + 1;
    for (Date at = day; at < next; at = at + 1) {
      const bool quarter = static_cast<unsigned>(at.ymd().month()) % 3 == 0;
      if (quarter && is_third_friday(at)) sessions[i].expiry = true;
    }
  }
}

}  // namespace

double Session::minutes() const {
  const Nanos pause = break_end.is_set() ? break_end - break_start : 0;
  return static_cast<double>(close - open - pause) / static_cast<double>(kMinute);
}

double Session::elapsed(Timestamp time) const {
  const Timestamp at = std::clamp(time, open, close);
  Nanos past = at - open;
  if (break_end.is_set() && at > break_start) past -= std::min(at, break_end) - break_start;
  return static_cast<double>(past) / static_cast<double>(kMinute);
}

bool Session::is_open(Timestamp time) const {
  if (time < open || time >= close) return false;
  return !break_end.is_set() || time < break_start || time >= break_end;
}

std::vector<std::string> Calendar::known() {
  std::vector<std::string> names;
  for (const EmbeddedFile& file : embedded_calendars()) names.emplace_back(file.name.substr(0, file.name.find('.')));
  return names;
}

/// What is built in stays as it is while the program runs, and its thousands of sessions take milliseconds to lay out:
/// every desk that is prepared would pay them, for each answer of a person.
Result<std::shared_ptr<const Calendar>> Calendar::load(std::string_view mic, const std::vector<std::string>& user_files) {
  if (!user_files.empty()) return lay_out(mic, user_files);
  static std::mutex mutex;
  static std::map<std::string, std::shared_ptr<const Calendar>, std::less<>> known;
  const std::lock_guard lock(mutex);
  if (const auto there = known.find(mic); there != known.end()) return there->second;
  auto made = lay_out(mic, {});
  if (made) known.emplace(mic, *made);
  return made;
}

Result<std::shared_ptr<const Calendar>> Calendar::lay_out(std::string_view mic,
                                                          const std::vector<std::string>& user_files) {
  auto rules = built_in(mic);
  if (!rules) return fail(rules.error().text);
  for (const std::string& path : user_files) {
    const auto text = read_file(path);
    if (!text) return fail(text.error().text);
    if (const auto added = add_user_days(*text, path, *rules); !added) return fail(added.error().text);
  }
  const auto shifts = zone_shifts(rules->zone, rules->first_year, rules->last_year);
  if (!shifts) return fail(shifts.error().text);
  auto calendar = std::make_shared<Calendar>();
  calendar->mic_ = rules->mic;
  calendar->zone_ = rules->zone;
  for (const ZoneShift& shift : *shifts) calendar->shifts_.push_back({shift.from, shift.offset});
  calendar->fill(*rules);
  return calendar;
}

void Calendar::fill(const CalendarRules& rules) {
  const std::vector<LocalSession> local = sessions_of(rules);
  sessions_.reserve(local.size());
  for (const LocalSession& one : local) {
    Session session;
    session.day = one.day;
    session.open = utc(one.day, one.open);
    session.close = utc(one.day, one.close);
    session.half_day = one.half_day;
    if (rules.break_end > rules.break_start && one.close > rules.break_end) {
      session.break_start = utc(one.day, rules.break_start);
      session.break_end = utc(one.day, rules.break_end);
    }
    sessions_.push_back(session);
  }
  mark_expiries(sessions_);
}

/// Daylight saving never changes inside a session of these exchanges, so two steps find the offset.
Timestamp Calendar::utc(Date day, int minutes) const {
  const Timestamp as_utc{day.days * kDayNanos + minutes * kMinute};
  const Timestamp guess = as_utc - offset(as_utc).count() * kSecond;
  return as_utc - offset(guess).count() * kSecond;
}

std::chrono::seconds Calendar::offset(Timestamp time) const {
  auto at =
      std::upper_bound(shifts_.begin(), shifts_.end(), time, [](Timestamp t, const Shift& s) { return t < s.from; });
  return at == shifts_.begin() ? shifts_.front().offset : std::prev(at)->offset;
}

Date Calendar::local_date(Timestamp time) const {
  const Nanos local = time.ns + offset(time).count() * kSecond;
  const Nanos days = local / kDayNanos - (local % kDayNanos < 0 ? 1 : 0);
  return Date{static_cast<std::int32_t>(days)};
}

const Session* Calendar::on(Date day) const {
  const auto at =
      std::lower_bound(sessions_.begin(), sessions_.end(), day, [](const Session& s, Date d) { return s.day < d; });
  return at != sessions_.end() && at->day == day ? &*at : nullptr;
}

const Session* Calendar::at_or_after(Timestamp time) const {
  const auto at = std::upper_bound(sessions_.begin(), sessions_.end(), time,
                                   [](Timestamp t, const Session& s) { return t < s.close; });
  return at != sessions_.end() ? &*at : nullptr;
}

const Session* Calendar::of(Timestamp time) const { return on(local_date(time)); }

const Session* Calendar::before(Date day) const {
  const auto at =
      std::lower_bound(sessions_.begin(), sessions_.end(), day, [](const Session& s, Date d) { return s.day < d; });
  return at == sessions_.begin() ? nullptr : &*std::prev(at);
}

}  // namespace brimwatch
