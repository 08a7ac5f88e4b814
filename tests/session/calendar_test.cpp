// What a calendar says about days, hours, breaks and daylight saving.
#include "session/calendar.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "session/rules_toml.h"

namespace brimwatch {
namespace {

std::shared_ptr<const Calendar> load(const char* mic, const std::vector<std::string>& files = {}) {
  auto calendar = Calendar::load(mic, files);
  EXPECT_TRUE(calendar) << (calendar ? "" : calendar.error().text);
  return calendar ? *calendar : nullptr;
}

Date day(const char* text) { return *parse_date(text); }
Timestamp at(const char* text) { return *parse_rfc3339(text); }

TEST(Calendar, OpeningInUtcFollowsDaylightSaving) {
  const auto xnys = load("XNYS");
  EXPECT_EQ(xnys->on(day("2026-03-06"))->open, at("2026-03-06T14:30:00Z"));
  EXPECT_EQ(xnys->on(day("2026-03-09"))->open, at("2026-03-09T13:30:00Z"));
  EXPECT_EQ(xnys->on(day("2026-10-30"))->open, at("2026-10-30T13:30:00Z"));
  EXPECT_EQ(xnys->on(day("2026-11-02"))->open, at("2026-11-02T14:30:00Z"));
}

TEST(Calendar, WithoutFilesOfAUserItIsTheSameEachTime) {
  EXPECT_EQ(load("XNYS"), load("XNYS"));
  EXPECT_NE(load("XNYS"), load("XTKS"));
  EXPECT_FALSE(Calendar::load("XXXX", {}));
  EXPECT_FALSE(Calendar::load("XXXX", {})) << "an error is not remembered as a calendar";
}

TEST(Calendar, HalfDayEndsAtOne) {
  const auto xnys = load("XNYS");
  const Session* half = xnys->on(day("2026-11-27"));
  ASSERT_NE(half, nullptr);
  EXPECT_TRUE(half->half_day);
  EXPECT_EQ(half->minutes(), 210);
  EXPECT_TRUE(half->is_open(at("2026-11-27T12:59:59.999-05:00")));
  EXPECT_FALSE(half->is_open(at("2026-11-27T13:00:00-05:00")));
}

TEST(Calendar, LunchBreakStopsTheClock) {
  const auto xtks = load("XTKS");
  const Session* session = xtks->on(day("2024-11-05"));
  ASSERT_NE(session, nullptr);
  EXPECT_EQ(session->close, at("2024-11-05T15:30:00+09:00"));
  EXPECT_EQ(xtks->on(day("2024-11-01"))->close, at("2024-11-01T15:00:00+09:00"));
  EXPECT_FALSE(session->is_open(at("2024-11-05T11:45:00+09:00")));
  EXPECT_EQ(session->elapsed(at("2024-11-05T11:45:00+09:00")), 150);
  EXPECT_EQ(session->elapsed(at("2024-11-05T12:31:00+09:00")), 151);
  EXPECT_EQ(session->minutes(), 330);
}

TEST(Calendar, FindsTheSessionOfAnInstant) {
  const auto xnys = load("XNYS");
  EXPECT_EQ(xnys->at_or_after(at("2026-11-25T21:00:00Z"))->day,
            day("2026-11-27"));  // after the close before Thanksgiving
  EXPECT_EQ(xnys->of(at("2026-11-26T15:00:00Z")), nullptr);
  EXPECT_EQ(xnys->of(at("2026-11-25T04:30:00Z")), xnys->on(day("2026-11-24")));  // 23:30 in New York
  EXPECT_EQ(xnys->before(day("2026-11-27"))->day, day("2026-11-25"));
}

TEST(Calendar, QuarterlyExpiryIsTheThirdFridayOrTheSessionBefore) {
  const auto xnys = load("XNYS");
  EXPECT_TRUE(xnys->on(day("2026-12-18"))->expiry);
  EXPECT_FALSE(xnys->on(day("2026-11-20"))->expiry);
  EXPECT_TRUE(xnys->on(day("2008-03-20"))->expiry);  // the third Friday was Good Friday
}

TEST(Calendar, AUsersFileAddsAClosingAnnouncedLastWeek) {
  const std::string path = testing::TempDir() + "/closing.toml";
  std::ofstream(path) << "mic = \"XNYS\"\nday = [{ date = \"2027-04-07\", closed = true },\n"
                         "       { date = \"2027-04-08\", close = \"12:15\" }]\n";
  const auto xnys = load("XNYS", {path});
  EXPECT_EQ(xnys->on(day("2027-04-07")), nullptr);
  EXPECT_TRUE(xnys->on(day("2027-04-08"))->half_day);
}

TEST(Calendar, AUsersDayThatEndsBeforeItBeginsIsRefused) {
  const std::string path = testing::TempDir() + "/backwards.toml";
  std::ofstream(path) << "mic = \"XNYS\"\nday = [{ date = \"2027-04-08\", close = \"09:15\" }]\n";
  const auto xnys = Calendar::load("XNYS", {path});
  ASSERT_FALSE(xnys);
  EXPECT_THAT(xnys.error().text, testing::HasSubstr("backwards.toml:2:8: close: expected a time after the open"));
}

TEST(Calendar, AUsersDayMayBeginLateButNotAfterItsEarlyClose) {
  const std::string path = testing::TempDir() + "/late.toml";
  std::ofstream(path) << "mic = \"XNYS\"\nday = [{ date = \"2027-04-08\", open = \"14:00\" }]\n";
  EXPECT_EQ(load("XNYS", {path})->on(day("2027-04-08"))->minutes(), 120);
  std::ofstream(path) << "mic = \"XNYS\"\nday = [{ date = \"2026-11-27\", open = \"14:00\" }]\n";
  EXPECT_FALSE(Calendar::load("XNYS", {path}));
}

TEST(Calendar, BadFilesAreToldWithTheirPlace) {
  const auto error_of = [](const char* text) {
    const auto rules = parse_calendar(text, "mine.toml");
    return rules ? std::string("no error") : rules.error().text;
  };
  EXPECT_THAT(error_of("mic = \"XNYS\"\nzones = 1\n"), testing::StartsWith("mine.toml:2:1: unknown key \"zones\""));
  EXPECT_THAT(error_of("mic = [\n"), testing::StartsWith("mine.toml:"));
  const std::string top = "mic = \"XABC\"\nzone = \"UTC\"\nyears = [2026, 2027]\nopen = \"09:30\"\nclose = \"16:00\"\n";
  EXPECT_EQ(error_of(top.c_str()), "no error");
  EXPECT_THAT(error_of((top + "day = [{ date = \"2027-02-30\", closed = true }]").c_str()),
              testing::StartsWith("mine.toml:6:8: date: expected a date"));
  for (const char* row :
       {"hours = [{ before = \"2026-06-01\", close = \"09:30\" }]",
        "early_close = [{ date = \"12-24\", close = \"09:00\" }]", "day = [{ date = \"2027-04-08\", close = \"07:00\" }]",
        "day = [{ date = \"2027-04-08\", open = \"16:00\" }]"}) {
    EXPECT_THAT(
        error_of((top + row).c_str()),
        testing::AllOf(testing::StartsWith("mine.toml:6:"), testing::HasSubstr("close: expected a time after the open")))
        << row;
  }
  EXPECT_THAT(error_of("open = \"9:30\""), testing::HasSubstr("expected a time"));
  EXPECT_THAT(Calendar::load("XABC", {}).error().text, testing::HasSubstr("there are XLON XNYS XTKS XTSE"));
}

}  // namespace
}  // namespace brimwatch
