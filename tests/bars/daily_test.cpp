#include <gmock/gmock.h>

#include "bars/daily_text.h"

namespace brimwatch {
namespace {

using testing::StartsWith;

constexpr const char* kHeader = "Date,Open,High,Low,Close,Volume\n";

/// What is told of the one bad row among two.
std::string told_of(const std::string& row, const std::string& header = kHeader) {
  const auto out = parse_daily(header + "2026-08-03,49,50,48,49,100\n" + row + "\n", "KLVN", "KLVN.csv");
  if (!out) return out.error().text;
  EXPECT_EQ(out->bars.size(), 1U) << row;
  EXPECT_EQ(out->skipped, 1) << row;
  return out->first_problem;
}

TEST(DailyText, commas_between_thousands_are_read_in_quotes) {
  const auto out = parse_daily(
      "\"Date\",\"Open\",\"High\",\"Low\",\"Close\",\"Volume\"\n"
      "\"2026-08-03\",\"1,049.00\",\"1,050.20\",\"998.80\",\"1,049.00\",\"1,234,567\"\r\n"
      "2026-08-04,49.00,50.20,48.80,49.00,\"950,000\"\n",
      "KLVN", "KLVN.csv");
  ASSERT_TRUE(out) << out.error().text;
  EXPECT_EQ(out->skipped, 0);
  ASSERT_EQ(out->bars.size(), 2U);
  EXPECT_EQ(out->bars[0].volume, 1'234'567);
  EXPECT_EQ(out->bars[0].open, Price{1'049'000'000});
  EXPECT_EQ(out->bars[0].high, Price{1'050'200'000});
  EXPECT_EQ(out->bars[0].low, Price{998'800'000});
  EXPECT_EQ(out->bars[1].volume, 950'000);
}

TEST(DailyText, what_may_be_a_decimal_comma_is_told_and_left_out) {
  EXPECT_EQ(told_of("2026-08-04,49,50,48,49,\"1,5\""),
            "KLVN.csv:3:24: volume: found \"1,5\", expected a number of shares such as 1234567 (commas only between "
            "thousands, as in 1,234,567 or 1,234.50; not where they can mean a decimal comma); the row was left out");
  EXPECT_THAT(told_of("2026-08-04,\"49,125\",\"50,5\",\"48,5\",\"49,5\",100"),
              StartsWith("KLVN.csv:3:12: open: found \"49,125\", expected"));
}

TEST(DailyText, a_row_wider_than_the_header_is_told_and_left_out) {
  EXPECT_EQ(
      told_of("2026-08-04,49,50,48,49,1,234,567"),
      "KLVN.csv:3:26: found 8 fields, expected no more than the 6 of the header (a comma within a field needs quotes "
      "around it); the row was left out");
  EXPECT_THAT(told_of("2026-08-04,49,50,48,49,1,234", "date,open,high,low,close,volume,\n"),
              StartsWith("KLVN.csv:3:26: found 7 fields,"));
  const auto out = parse_daily(std::string(kHeader) + "2026-08-03,49,50,48,49,100,\n", "KLVN", "KLVN.csv");
  ASSERT_TRUE(out) << "a separator at the line's end moves nothing";
  EXPECT_EQ(out->bars[0].volume, 100);
}

TEST(DailyText, quotes_that_do_not_close_are_told) {
  EXPECT_EQ(told_of("2026-08-04,49,50,48,49,\"1,234"),
            "KLVN.csv:3:24: found a quote that is never closed, expected a second one in the same line; the row was left "
            "out");
}

TEST(DailyText, a_split_with_a_comma_is_not_taken_for_none) {
  const std::string header = "date,open,high,low,close,volume,split ratio\n";
  EXPECT_THAT(told_of("2026-08-04,49,50,48,49,100,\"1,5\"", header),
              StartsWith("KLVN.csv:3:28: split ratio: found \"1,5\", "));
}

}  // namespace
}  // namespace brimwatch
