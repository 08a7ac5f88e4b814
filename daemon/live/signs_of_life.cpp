#include "live/signs_of_life.h"

#include <algorithm>
#include <set>

#include "desk/mute.h"

namespace brimwatch {
namespace {

/// Minutes after midnight of "hh:mm"; the loader has refused anything else.
int minutes_of(const std::string& clock) {
  if (clock.size() != 5) return -1;
  return (clock[0] - '0') * 600 + (clock[1] - '0') * 60 + (clock[3] - '0') * 10 + (clock[4] - '0');
}

std::string minute_clock(Timestamp time, const Calendar& calendar) {
  return to_clock(time, calendar.offset(time)).substr(0, 5);
}

std::string count_of(std::size_t count, const char* what) {
  return std::to_string(count) + " " + what + (count == 1 ? "" : "s");
}

/// Where each symbol's normal volume comes from, and how old it is.
struct Normals {
  std::size_t given = 0, fresh = 0;
  std::vector<std::string> stale, old, unknown, doubtful;
};

Normals look_at_normals(const Desk& desk, const Session& today) {
  Normals normals;
  const Session* const before = desk.main_calendar().before(today.day);
  std::set<std::string_view> seen;
  const WatchList& watches = desk.settings().watches;
  for (std::size_t i = 0; i < watches.size(); ++i) {
    const std::string& symbol = watches.symbol(i);
    if (!seen.insert(symbol).second) continue;
    const std::vector<DailyBar>& daily = desk.histories().daily(symbol);
    if (!watches.normal_volume(i) && !desk.histories().doubts(symbol).empty()) normals.doubtful.push_back(symbol);
    if (watches.normal_volume(i)) ++normals.given;
    else if (daily.empty()) normals.unknown.push_back(symbol);
    else if (sessions_missing(daily, today.day, desk.main_calendar()) > kOldestSessions) normals.old.push_back(symbol);
    else if (before != nullptr && daily.back().day < before->day) normals.stale.push_back(symbol);
    else ++normals.fresh;
  }
  return normals;
}

std::string describe(const Normals& normals) {
  std::vector<std::string> parts;
  if (normals.fresh > 0) parts.push_back(std::to_string(normals.fresh) + " fresh");
  if (normals.given > 0) parts.push_back(std::to_string(normals.given) + " as given");
  if (!normals.stale.empty())
    parts.push_back(std::to_string(normals.stale.size()) + " without the last session (" + some_of(normals.stale) + ")");
  if (!normals.old.empty())
    parts.push_back(std::to_string(normals.old.size()) + " too old, their volume is not judged (" + some_of(normals.old) +
                    ")");
  if (!normals.unknown.empty())
    parts.push_back(std::to_string(normals.unknown.size()) + " unknown (" + some_of(normals.unknown) + ")");
  if (!normals.doubtful.empty())
    parts.push_back(std::to_string(normals.doubtful.size()) + " from doubtful bars (" + some_of(normals.doubtful) + ")");
  std::string text = "normal volumes: ";
  for (std::size_t i = 0; i < parts.size(); ++i) text += (i == 0 ? "" : ", ") + parts[i];
  return text;
}

/// "; no crossing notices today for KLVN, ORRJ (not in force), NIVO (halted)"; what is wrong with volumes stands beside
/// it.
std::string mute_today(const Desk& desk, Timestamp now) {
  MuteList list;
  const WatchList& watches = desk.settings().watches;
  for (std::uint32_t i = 0; i < watches.size(); ++i) {
    for (const MuteCause& cause : mute_causes(desk, i, desk.engine().view(i, now), now)) {
      if (cause.no_crossing) list.add(watches.symbol(i), cause);
    }
  }
  std::string text;
  for (const MuteList::Line& line : list.lines())
    text += (text.empty() ? "; no crossing notices today for " : ", ") + line.names() + " (" + line.cause.what + ")";
  return text;
}

}  // namespace

bool is_morning(const std::string& at, const Calendar& calendar, Timestamp now) {
  if (at.empty()) return false;
  const Session* const session = calendar.on(calendar.local_date(now));
  if (session == nullptr || now >= session->open) return false;
  const Nanos local = now.ns + calendar.offset(now).count() * kSecond;
  return local % kDayNanos / kMinute >= minutes_of(at);
}

std::string morning_line(const Desk& desk, const std::vector<FeedRow>& feeds, const std::string& journal_trouble,
                         Timestamp now) {
  const Calendar& calendar = desk.main_calendar();
  const Session* const today = calendar.on(calendar.local_date(now));
  if (today == nullptr) return "no session today";
  std::string troubles, rows;
  for (const FeedRow& feed : feeds) {
    rows += "; feed " + feed.name + " " + feed.state;
    if (feed.state != "up") troubles += (troubles.empty() ? "feed " : ", feed ") + feed.name + " is not up";
  }
  if (!journal_trouble.empty()) troubles += (troubles.empty() ? "" : ", ") + std::string("notices are not kept");
  const auto& symbols = desk.settings().watches.symbols();
  return (troubles.empty() ? "all is ready for today, " : "not ready: " + troubles + "; today is ") +
         std::string(today->half_day ? "a half day" : "a full day") + ", " + minute_clock(today->open, calendar) +
         " to " + minute_clock(today->close, calendar) + "; " + count_of(desk.settings().watches.size(), "pivot") +
         " of " + count_of(symbols.size(), "symbol") + rows + "; " + describe(look_at_normals(desk, *today)) +
         desk.old_index(today->day) + mute_today(desk, now);
}

}  // namespace brimwatch
