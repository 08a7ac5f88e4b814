// The calendars against sources outside the project: NYSE's published lists, an open data set, QuantLib.
#include <gtest/gtest.h>

#include <fstream>
#include <set>
#include <sstream>

#include "session/calendar.h"
#include "tests/support/data.h"
#include "tests/support/process.h"

namespace brimwatch {
namespace {

std::shared_ptr<const Calendar> built_in(const char* mic) { return *Calendar::load(mic, {}); }

std::set<std::string> days_of(const Calendar& calendar, int first, int last) {
  std::set<std::string> days;
  for (const Session& session : calendar.sessions()) {
    const int year = static_cast<int>(session.day.ymd().year());
    if (year >= first && year <= last) days.insert(to_string(session.day));
  }
  return days;
}

// NYSE Group holiday announcements of 2024-11-08 (2025-2027) and 2025-12-23 (2026-2028); 2024 from open calendar data.
TEST(PublishedNyse, ClosingsAndEarlyClosesOf2024To2028) {
  struct Year {
    int year;
    const char* closed;
    const char* early;
    std::size_t sessions;
  };
  const Year kYears[] = {
      {2024, "01-01 01-15 02-19 03-29 05-27 06-19 07-04 09-02 11-28 12-25", "07-03 11-29 12-24", 252},
      {2025, "01-01 01-09 01-20 02-17 04-18 05-26 06-19 07-04 09-01 11-27 12-25", "07-03 11-28 12-24", 250},
      {2026, "01-01 01-19 02-16 04-03 05-25 06-19 07-03 09-07 11-26 12-25", "11-27 12-24", 251},
      {2027, "01-01 01-18 02-15 03-26 05-31 06-18 07-05 09-06 11-25 12-24", "11-26", 251},
      {2028, "01-17 02-21 04-14 05-29 06-19 07-04 09-04 11-23 12-25", "07-03 11-24", 251},
  };
  const auto xnys = built_in("XNYS");
  for (const Year& year : kYears) {
    std::string closed, early;
    std::size_t sessions = 0;
    for (Date day = Date::of(year.year, 1, 1); day <= Date::of(year.year, 12, 31); day = day + 1) {
      const Session* session = xnys->on(day);
      const bool weekend = day.weekday() == std::chrono::Saturday || day.weekday() == std::chrono::Sunday;
      if (session != nullptr) ++sessions;
      if (session == nullptr && !weekend) closed += to_string(day).substr(5) + " ";
      if (session != nullptr && session->half_day) early += to_string(day).substr(5) + " ";
    }
    EXPECT_EQ(closed, std::string(year.closed) + " ") << year.year;
    EXPECT_EQ(early, std::string(year.early) + " ") << year.year;
    EXPECT_EQ(sessions, year.sessions) << year.year;
  }
}

// exchange_calendars (Apache-2.0): every NYSE session 1990 to 2023-01-13 with open and close in UTC.
TEST(OpenCalendarData, EverySessionAndEarlyCloseSince1990) {
  BRIMWATCH_NEEDS_DATA("calendars/exchange_calendars_xnys.csv");
  std::ifstream in(test::data_path("calendars/exchange_calendars_xnys.csv"));
  const auto xnys = built_in("XNYS");
  std::string line;
  std::getline(in, line);
  std::set<std::string> theirs;
  while (std::getline(in, line)) {
    const std::string day = line.substr(0, 10);
    theirs.insert(day);
    const Session* session = xnys->on(*parse_date(day));
    ASSERT_NE(session, nullptr) << day;
    // NYSE's own list of historical closings has these two; the data set has regular hours.
    if (day == "2002-09-11" || day == "2009-07-02") continue;
    EXPECT_EQ(to_rfc3339(session->open), line.substr(21, 20)) << day;
    EXPECT_EQ(to_rfc3339(session->close), line.substr(42, 20)) << day;
  }
  auto ours = days_of(*xnys, 1990, 2022);
  for (const std::string& day : days_of(*xnys, 2023, 2023)) {
    if (day <= "2023-01-13") ours.insert(day);
  }
  EXPECT_EQ(ours, theirs);
}

TEST(OpenCalendarData, GeneratedSessionsTo2030) {
  BRIMWATCH_NEEDS_DATA("calendars/exchange_calendars_2022_2030_generated.csv");
  std::ifstream in(test::data_path("calendars/exchange_calendars_2022_2030_generated.csv"));
  const auto xnys = built_in("XNYS");
  std::string line;
  std::getline(in, line);
  std::set<std::string> theirs;
  while (std::getline(in, line)) {
    const std::string day = line.substr(0, 10);
    if (day == "2025-01-09") continue;  // day of mourning, announced later than the data
    theirs.insert(day);
    const Session* session = xnys->on(*parse_date(day));
    ASSERT_NE(session, nullptr) << day;
    EXPECT_EQ(to_clock(session->close, xnys->offset(session->close)).substr(0, 5), line.substr(17, 5)) << day;
  }
  EXPECT_EQ(days_of(*xnys, 2022, 2030), theirs);
}

struct Quantlib {
  const char* mic;
  int first, last;
  std::set<std::string> only_quantlib;  ///< days that it takes for sessions and the exchange's own word does not
};
void PrintTo(const Quantlib& one, std::ostream* out) { *out << one.mic; }

class AgainstQuantlib : public testing::TestWithParam<Quantlib> {};

TEST_P(AgainstQuantlib, BusinessDays) {
  const Quantlib& p = GetParam();
  const test::Run run = test::run("/usr/bin/python3 " BRIMWATCH_SOURCE_DIR "/tests/reference/quantlib_days.py " +
                                  std::string(p.mic) + " " + std::to_string(p.first) + " " + std::to_string(p.last));
  if (run.code != 0) GTEST_SKIP() << "QuantLib for Python is not installed (Debian: quantlib-python)";
  std::istringstream lines(run.out);
  std::set<std::string> theirs;
  for (std::string line; std::getline(lines, line);) theirs.insert(line);
  for (const std::string& day : p.only_quantlib) theirs.erase(day);
  const auto ours = days_of(*built_in(p.mic), p.first, p.last);
  for (const std::string& day : ours) EXPECT_TRUE(theirs.contains(day)) << p.mic << " " << day << ": session only for us";
  for (const std::string& day : theirs)
    EXPECT_TRUE(ours.contains(day)) << p.mic << " " << day << ": session only for QuantLib";
}

INSTANTIATE_TEST_SUITE_P(Exchanges, AgainstQuantlib,
                         testing::Values(Quantlib{"XNYS", 1990, 2030, {"2025-01-09"}}, Quantlib{"XTSE", 2002, 2030, {}},
                                         Quantlib{"XLON", 2002, 2030, {"2023-05-08"}},
                                         Quantlib{"XTKS", 2012, 2030, {"2020-10-01"}}),
                         [](const auto& one) { return std::string(one.param.mic); });

}  // namespace
}  // namespace brimwatch
