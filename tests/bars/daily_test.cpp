#include <gmock/gmock.h>

#include "bars/daily_text.h"

namespace brimwatch {
namespace {

using testing::EndsWith;
using testing::HasSubstr;
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

TEST(DailyText, a_day_that_appears_twice_is_told) {
  const std::string two = std::string(kHeader) + "2026-08-03,49,50,48,49,100\n2026-08-03,49,50,48,49,";
  const auto other = parse_daily(two + "200\n", "KLVN", "KLVN.csv");
  ASSERT_TRUE(other);
  EXPECT_EQ(other->bars.size(), 1U);
  EXPECT_EQ(other->bars[0].volume, 200);
  EXPECT_EQ(other->first_problem,
            "KLVN.csv: the day 2026-08-03 appears twice, with different figures, expected one row a day; one of them was "
            "used");
  EXPECT_THAT(parse_daily(two + "100\n", "KLVN", "KLVN.csv")->first_problem, HasSubstr("twice, with the same figures,"));
}

TEST(DailyText, how_many_rows_were_left_out_is_told) {
  const std::string bad = "never,49,50,48,49,100\n", good = "2026-08-03,49,50,48,49,100\n";
  const auto some = parse_daily(kHeader + bad + good + bad + bad, "KLVN", "KLVN.csv");
  ASSERT_TRUE(some);
  EXPECT_EQ(some->skipped, 3);
  EXPECT_EQ(some->first_problem,
            "KLVN.csv:2:1: date: found \"never\", expected a day such as 2026-11-25; the row and 2 more were left out");
  EXPECT_THAT(parse_daily(kHeader + bad + bad, "KLVN", "KLVN.csv").error().text,
              EndsWith("; so are all 2 rows, and the file was not used"));
  EXPECT_THAT(parse_daily(kHeader + bad, "KLVN", "KLVN.csv").error().text,
              EndsWith("; it is the only row, and the file was not used"));
}

TEST(DailyText, volumes_as_sources_show_them_to_people) {
  const auto volume = [](const std::string& text, const char* prices = "49;50;48;49") {
    const auto out = parse_daily("date;open;high;low;close;volume\n2026-08-03;" + std::string(prices) + ";" + text + "\n",
                                 "KLVN", "KLVN.csv");
    return out ? out->bars[0].volume : -1;
  };
  EXPECT_EQ(volume("1.34M"), 1'340'000);
  EXPECT_EQ(volume("950k"), 950'000);
  EXPECT_EQ(volume("2.1B"), 2'100'000'000);
  EXPECT_EQ(volume("1,34M", "49,0;50,0;48,0;49,0"), 1'340'000) << "a decimal comma where the prices have one";
  EXPECT_EQ(volume("1'337'681"), 1'337'681);
  EXPECT_EQ(volume("1 337 681"), 1'337'681);
  EXPECT_EQ(volume("1\u202f337\u202f681"), 1'337'681);
  EXPECT_EQ(volume("1\u00a0337"), 1'337);
  EXPECT_EQ(volume("1 33 681"), -1) << "no groups of three";
  EXPECT_EQ(volume("M"), -1);
  EXPECT_EQ(volume("1.34X"), -1);
}

TEST(DailyText, text_of_two_bytes_a_letter_is_named) {
  EXPECT_EQ(parse_daily(std::string("\xFF\xFE"
                                    "d\0a\0",
                                    6),
                        "KLVN", "KLVN.csv")
                .error()
                .text,
            "KLVN.csv:1:1: found UTF-16 text, expected UTF-8 (save it as CSV UTF-8); the file was not used");
}

TEST(DailyText, a_year_of_two_digits_beside_a_months_name) {
  const auto out = parse_daily(kHeader + std::string("06-Aug-26,49,50,48,49,100\n"), "KLVN", "KLVN.csv");
  ASSERT_TRUE(out) << out.error().text;
  EXPECT_EQ(to_string(out->bars[0].day), "2026-08-06");
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
