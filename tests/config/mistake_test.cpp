// What people write where TOML wants something else, and what they are told: never the parser's own words.
#include "config/reading/mistake.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "config/reading/document.h"

namespace brimwatch {
namespace {

std::string told(const std::string& text) {
  const Document document = parse_document(text, 0);
  if (!document.error) return "nothing";
  return std::to_string(document.error->place.line) + ":" + std::to_string(document.error->place.column) + ": " +
         document.error->text;
}

TEST(Mistakes, words_without_quotes) {
  EXPECT_EQ(told("[[watch]]\nsymbol = KLVN\n"), "2:10: found KLVN without quotes, expected \"KLVN\"");
  EXPECT_EQ(told("symbol = KLVN # mine\n"), "1:10: found KLVN without quotes, expected \"KLVN\"");
  EXPECT_EQ(told("watch_lists = [\"a.toml\", b.toml]\n"), "1:26: found b.toml without quotes, expected \"b.toml\"");
  EXPECT_EQ(told("journal = ~/brim/journal.db\n"),
            "1:11: found ~/brim/journal.db without quotes, expected \"~/brim/journal.db\"");
  EXPECT_EQ(told("quiet = 22:00\n"), "1:9: found 22:00 without quotes, expected \"22:00\"");
  EXPECT_EQ(told("normal_volume = 1.3M\n"), "1:17: found 1.3M without quotes, expected \"1.3M\"");
}

TEST(Mistakes, quotes) {
  EXPECT_EQ(told("symbol = \"KLVN\npivot = 1\n"), "1:10: found \"KLVN with no quote at its end, expected \"KLVN\"");
  EXPECT_EQ(told("symbol = 'KLVN\n"), "1:10: found 'KLVN with no quote at its end, expected 'KLVN'");
  EXPECT_EQ(told("symbol = “KLVN”\n"), "1:10: found “KLVN” in curly quotes, expected straight ones: \"KLVN\"");
  EXPECT_THAT(told("journal = \"C:\\Users\\me.db\"\n"), testing::HasSubstr("found a backslash in double quotes"));
}

// As other systems, spreadsheets and web pages write it. TOML 1.0: UTF-8, lines that end in LF or CRLF, spaces of U+0020.
TEST(Mistakes, letters_and_line_ends_of_other_systems) {
  EXPECT_EQ(told("pivot\xC2\xA0= 48.35\n"), "1:6: found a no-break space, expected an ordinary space");
  EXPECT_EQ(told("# M\xE4rz\n"), "1:3: found a byte that is not UTF-8, expected UTF-8 text: save the file as UTF-8");
  EXPECT_EQ(told("symbol = \"KLVN\"\rpivot = 1\r"), "1:1: found lines that end in CR alone, expected LF, or CR and LF");
  EXPECT_EQ(told("\xEF\xBB\xBFpivot = 1\r\n"), "nothing");
}

// Dates: RFC 3339 full-date, which is what TOML 1.0 takes.
TEST(Mistakes, dates) {
  EXPECT_EQ(told("until = 31.12.2026\n"),
            "1:9: found 31.12.2026, expected a date as year-month-day, without quotes: 2026-12-31");
  EXPECT_EQ(told("until = 12/31/2026\n"),
            "1:9: found 12/31/2026, expected a date as year-month-day, without quotes: 2026-12-31");
  EXPECT_EQ(told("until = 2026-1-5\n"),
            "1:9: found 2026-1-5, expected a date as year-month-day, without quotes: 2026-01-05");
  EXPECT_EQ(told("until = 2026-13-01\n"), "1:9: found 2026-13-01, expected a day that exists, as 2026-12-31");
  EXPECT_EQ(told("until = 4/5/2026\n"),
            "1:9: found 4/5/2026, expected a date as year-month-day, without quotes: 2026-12-31")
      << "whether it is April or May is not guessed";
}

TEST(Mistakes, numbers) {
  EXPECT_EQ(told("pivot = 48,35\n"), "1:9: found 48,35, expected a point for the decimals: 48.35");
  EXPECT_EQ(told("pivot = 1.250,50\n"),
            "1:9: found 1.250,50, expected a point for the decimals and nothing between the thousands: 1250.50");
  EXPECT_EQ(told("normal_volume = 1,300,000\n"), "1:17: found 1,300,000, expected no commas: 1300000");
  EXPECT_EQ(told("pivot = 1,250\n"),
            "1:9: found 1,250, expected a point for decimals, and no commas between thousands: 1.250 or 1250");
  EXPECT_EQ(told("pivot = $48.35\n"), "1:9: found $48.35, expected the number alone: 48.35");
  EXPECT_EQ(told("range = 5 %\n"), "1:9: found 5 %, expected the number alone: 5");
  EXPECT_EQ(told("pivot = .35\n"), "1:9: found .35, expected a digit before the point: 0.35");
  EXPECT_EQ(told("pivot = 048.35\n"), "1:9: found 048.35, expected no zeros in front: 48.35");
}

TEST(Mistakes, yes_and_no) {
  EXPECT_THAT(told("on = yes\n"), testing::HasSubstr("1:6: found yes, expected true"));
  EXPECT_THAT(told("on = False\n"), testing::HasSubstr("1:6: found False, expected false"));
}

TEST(Mistakes, the_shape_of_a_line) {
  EXPECT_THAT(told("pivot 48.35\n"), testing::HasSubstr("found pivot 48.35, expected KEY = VALUE"));
  EXPECT_THAT(told("symbol: \"KLVN\"\n"), testing::HasSubstr("expected KEY = VALUE"));
  EXPECT_THAT(told("pivot =\n"), testing::HasSubstr("found nothing after pivot =, expected a value"));
  EXPECT_THAT(told("[[watch]\n"), testing::HasSubstr("found [[watch], expected [name] or [[name]]"));
  EXPECT_THAT(told("pivot = 1\npivot = 2\n"), testing::HasSubstr("found \"pivot\" a second time, expected it once"));
  EXPECT_THAT(told("a = [\"x\" \"y\"]\n"), testing::HasSubstr("no comma between its items"));
  EXPECT_EQ(told("symbol = \"KLVN\";\n"),
            "1:10: found a \";\" at the end, expected nothing there: the line's end is enough");
  EXPECT_EQ(told("pivot = 48.35 // high\n"), "1:9: found a remark after //, expected # in front of a remark");
  EXPECT_EQ(told("pivot = 48.35 until = 2026-12-31\n"),
            "1:9: found a second key, \"until\", on the same line, expected one key a line");
}

TEST(Mistakes, what_nobody_can_guess_keeps_the_parsers_words_and_is_bounded) {
  EXPECT_THAT(told("a = +-!\n"), testing::HasSubstr("found no valid TOML: "));
  EXPECT_THAT(told("a = " + std::string(100'000, 'x') + "\n"), testing::HasSubstr("found no valid TOML: "));
  EXPECT_FALSE(explain_mistake("", 0, ""));
  EXPECT_FALSE(explain_mistake("=", 5, ""));
}

}  // namespace
}  // namespace brimwatch
