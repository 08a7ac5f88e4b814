#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdio>
#include <fstream>

#include "volume/history.h"
#include "volume/prior.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

std::string file_with(const std::string& text) {
  const std::string path = testing::TempDir() + "daily_" + std::to_string(::getpid()) + ".csv";
  std::ofstream(path) << text;
  return path;
}

TEST(DailyFile, ColumnsByNameInAnyOrder) {
  const auto bars = read_daily(file_with("Volume,close,Date\r\n200,10.5,2026-11-25\r\n100,10,2026-11-24\r\n"));
  ASSERT_TRUE(bars) << bars.error().text;
  ASSERT_EQ(bars->size(), 2u);
  EXPECT_EQ(to_string(bars->front().day), "2026-11-24");
  EXPECT_EQ(bars->back().volume, 200);
  EXPECT_EQ(bars->back().close, 10.5);
}

TEST(DailyFile, DatetimeIsTakenForTheDate) {
  const auto bars = read_daily(file_with("datetime,open,high,low,close,volume\n2021-03-31 00:00,1,2,0.5,1.5,77\n"));
  ASSERT_TRUE(bars) << bars.error().text;
  EXPECT_EQ(to_string(bars->front().day), "2021-03-31");
}

TEST(DailyFile, ErrorsSayWhereAndWhat) {
  EXPECT_THAT(read_daily(file_with("date,volume\n2026-11-25,1k\n")).error().text,
              HasSubstr(":2:12: volume: found \"1k\""));
  EXPECT_THAT(read_daily(file_with("date,volume\n25.11.2026,10\n")).error().text, HasSubstr(":2:1: date: found"));
  EXPECT_THAT(read_daily(file_with("day,vol\n")).error().text, HasSubstr("expected the columns date and volume"));
  EXPECT_THAT(read_daily(file_with("date,volume\n2026-11-25,1\n2026-11-25,1\n")).error().text, HasSubstr("twice"));
  EXPECT_FALSE(read_daily("/nonexistent/x.csv"));
}

TEST(DailyFile, CommasBetweenThousandsAreReadInQuotes) {
  const auto bars =
      read_daily(file_with("\"Date\",\"Open\",\"Close\",\"Volume\"\n\"2026-08-03\",\"49.00\",\"1,049.00\",\"1,234,567\"\n"
                           "2026-08-04,49.00,49.00,\"950,000\",\n"));
  ASSERT_TRUE(bars) << bars.error().text;
  ASSERT_EQ(bars->size(), 2u);
  EXPECT_EQ(bars->front().volume, 1'234'567);
  EXPECT_EQ(bars->front().close, 1049);
  EXPECT_EQ(bars->back().volume, 950'000);
}

TEST(DailyFile, ValuesThatMayStandInTheWrongColumnAreRefused) {
  EXPECT_THAT(
      read_daily(file_with("date,volume\n2026-08-03,\"1,5\"\n")).error().text,
      HasSubstr(":2:12: volume: found \"1,5\", expected a number that is not negative (commas only between thousands, "
                "as in 1,234,567 or 1,234.50; not where they can mean a decimal comma); the history was not loaded"));
  EXPECT_THAT(read_daily(file_with("date,volume,close\n2026-08-03,100,\"49,125\"\n")).error().text,
              HasSubstr(":2:16: close: found \"49,125\""));
  EXPECT_THAT(read_daily(file_with("date,volume\n2026-08-03,1,234,567\n")).error().text,
              HasSubstr(":2:14: found 4 fields, expected no more than the 2 of the header (a comma within a field needs "
                        "quotes around it); the history was not loaded"));
  EXPECT_THAT(read_daily(file_with("date,volume\n2026-08-03,\"1,234\n")).error().text,
              HasSubstr(":2:12: found a quote that is never closed"));
}

TEST(DailyFile, OtherSeparatorsAreTold) {
  EXPECT_THAT(
      read_daily(file_with("Date;Volume\n2026-08-03;100\n")).error().text,
      HasSubstr(":1:1: header: found semicolons between the columns, expected commas; the history was not loaded"));
  EXPECT_THAT(read_daily(file_with("date\tvolume\n2026-08-03\t100\n")).error().text,
              HasSubstr(":1:1: header: found tabs between the columns, expected commas"));
}

TEST(Prior, IsTheFormulaOfTheModel) {
  std::vector<double> logs;
  for (int i = 0; i < 50; ++i) logs.push_back(10 + 0.01 * i);
  const double m5 = 10.47, m20 = 10.395, m50 = 10.245;
  EXPECT_NEAR(prior_from_days(logs).mean, m20 - 0.009 + 0.43 * (10.49 - m20) + 0.28 * (m5 - m20) + 0.24 * (m50 - m20),
              1e-12);
  EXPECT_EQ(prior_from_days(logs).scale, 1);
  EXPECT_NEAR(prior_from_days(std::vector<double>{10, 11}).mean, 10.5, 1e-12);
  EXPECT_NEAR(prior_from_days(std::vector<double>{10, 11}).scale, std::sqrt(2.0), 1e-12);
}

// Means on hour bars of three stocks, 1998-2008: -.54 before Independence Day, -.87 after Thanksgiving, -1.02 before
// Christmas; 84 large stocks of 2012-2017: -.54, -.53, -1.03.
TEST(Prior, AHalfDaysLevelHangsOnItsKindAndALittleOnTheSymbol) {
  EXPECT_NEAR(half_day_level(210, 7), -0.55, 1e-12);
  EXPECT_NEAR(half_day_level(210, 11), -0.75, 1e-12);
  EXPECT_NEAR(half_day_level(210, 12), -1.0, 1e-12);
  EXPECT_NEAR(half_day_level(210, 5), -0.80, 1e-12);
  EXPECT_EQ(half_day_level(390, 12), 0);
  EXPECT_NEAR(half_day_level(300, 12), -0.5, 1e-12);
  EXPECT_NEAR(own_half_day_level(-0.75, std::vector<double>(30, 0.26)), -0.75 + 0.26 * 10 / 26, 1e-12);
  EXPECT_EQ(own_half_day_level(-0.75, {}), -0.75);
}

}  // namespace
}  // namespace brimwatch
