// Daily bars whose every row must be readable: those that a normal volume rests on.
#include <gmock/gmock.h>

#include <string_view>

#include "bars/daily_text.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

Result<DailySeries> every(std::string_view text) { return parse_daily(text, "KLVN", "KLVN.csv", DailyRows::every); }
std::string refused(std::string_view text) {
  const auto read = every(text);
  return read ? "it was read" : read.error().text;
}

TEST(DailyEveryRow, ColumnsByNameInAnyOrder) {
  const auto read = every("Volume,close,Date\r\n200,10.5,2026-11-25\r\n100,10,2026-11-24\r\n");
  ASSERT_TRUE(read) << read.error().text;
  ASSERT_EQ(read->bars.size(), 2U);
  EXPECT_FALSE(read->has_prices) << "a close alone draws no bar";
  EXPECT_EQ(to_string(read->bars.front().day), "2026-11-24");
  EXPECT_EQ(read->bars.back().volume, 200);
  EXPECT_EQ(read->bars.back().close, *parse_price("10.50"));
  EXPECT_FALSE(read->bars.back().high.is_set());
}

TEST(DailyEveryRow, DatetimeIsTakenForTheDate) {
  const auto read = every("datetime,open,high,low,close,volume\n2021-03-31 00:00,1,2,0.5,1.5,77\n");
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_EQ(to_string(read->bars.front().day), "2021-03-31");
  EXPECT_TRUE(read->has_prices);
}

TEST(DailyEveryRow, APriceOfZeroIsOneThatTheSourceDoesNotKnow) {
  const auto read = every("date,open,high,low,close,volume\n2026-11-25,0,0,0,48.35,0\n");
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_FALSE(read->bars.front().open.is_set());
  EXPECT_EQ(read->mended, 0) << "nothing is made of a price that is not known";
  EXPECT_THAT(refused("date,close,volume\n2026-11-25,-1,7\n"), HasSubstr("KLVN.csv:2:12: close: found \"-1\""));
  EXPECT_THAT(refused("date,close,volume\n2026-11-25,,7\n"), HasSubstr("KLVN.csv:2:12: close: found \"\""));
}

TEST(DailyEveryRow, ErrorsSayWhereAndWhat) {
  EXPECT_EQ(refused("date,volume\n2026-11-24,1\n2026-11-25,1x\n"),
            "KLVN.csv:3:12: volume: found \"1x\", expected a number of shares such as 1234567; the file was not used");
  EXPECT_THAT(refused("date,volume\n2026-13-25,10\n"), HasSubstr("KLVN.csv:2:1: date: found \"2026-13-25\""));
  EXPECT_THAT(refused("date,volume\n2026-11-25,inf\n"), HasSubstr("volume: found \"inf\""));
  EXPECT_THAT(
      refused("day,amount\n"),
      HasSubstr("no column \"volume\": found the header \"day,amount\", expected date,open,high,low,close,volume"));
  EXPECT_EQ(refused("date,volume\n2026-11-25,1\n2026-11-24,1\n2026-11-25,1\n"),
            "KLVN.csv: the day 2026-11-25 appears twice, expected one row a day; the file was not used");
  EXPECT_EQ(refused("date,volume\n"), "KLVN.csv:2:1: no rows; the file was not used");
}

TEST(DailyEveryRow, CommasBetweenThousandsAreReadInQuotes) {
  const auto read = every(
      "\"Date\",\"Open\",\"Close\",\"Volume\"\n\"2026-08-03\",\"49.00\",\"1,049.00\",\"1,234,567\"\n"
      "2026-08-04,49.00,49.00,\"950,000\",\n");
  ASSERT_TRUE(read) << read.error().text;
  ASSERT_EQ(read->bars.size(), 2U);
  EXPECT_EQ(read->bars.front().volume, 1'234'567);
  EXPECT_EQ(read->bars.front().close, *parse_price("1049"));
  EXPECT_EQ(read->bars.back().volume, 950'000);
}

TEST(DailyEveryRow, ValuesThatMayStandInTheWrongColumnAreRefused) {
  EXPECT_THAT(refused("date,volume\n2026-08-03,\"1,5\"\n"),
              HasSubstr(":2:12: volume: found \"1,5\", expected a number of shares such as 1234567 (commas only between "
                        "thousands, as in 1,234,567 or 1,234.50; not where they can mean a decimal comma); the file was "
                        "not used"));
  EXPECT_THAT(refused("date,volume,close\n2026-08-03,100,\"49,125\"\n"), HasSubstr(":2:16: close: found \"49,125\""));
  EXPECT_THAT(refused("date,volume\n2026-08-03,1,234,567\n"),
              HasSubstr(":2:14: found 4 fields, expected no more than the 2 of the header (a comma within a field needs "
                        "quotes around it); the file was not used"));
  EXPECT_THAT(refused("date,volume\n2026-08-03,\"1,234\n"), HasSubstr(":2:12: found a quote that is never closed"));
}

}  // namespace
}  // namespace brimwatch
