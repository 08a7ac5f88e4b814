#include "core/text/csv_line.h"

#include <gmock/gmock.h>

#include <random>

namespace brimwatch {
namespace {

using testing::ElementsAre;

std::vector<std::string> fields_of(std::string_view line, char delimiter = ',') {
  CsvLine fields;
  if (!fields.split(line, delimiter))
    return {std::to_string(fields.column(fields.size())), std::string(fields.problem())};
  return {fields.begin(), fields.end()};
}

TEST(CsvLine, cuts_at_separators_and_takes_blanks_off) {
  EXPECT_THAT(fields_of("a, b ,,c\r"), ElementsAre("a", "b", "", "c"));
  EXPECT_THAT(fields_of(""), ElementsAre(""));
  EXPECT_THAT(fields_of("a,b;c\td", ';'), ElementsAre("a,b", "c\td"));
  EXPECT_THAT(fields_of("a\t\tb", '\t'), ElementsAre("a", "", "b"));
}

TEST(CsvLine, quotes_hold_separators_and_doubled_quotes) {
  EXPECT_THAT(fields_of("\"2026-08-03\",\"1,234,567\",x\r"), ElementsAre("2026-08-03", "1,234,567", "x"));
  EXPECT_THAT(fields_of("\"a \"\"b\"\", c\",\"\"\"\",\"\""), ElementsAre("a \"b\", c", "\"", ""));
  EXPECT_THAT(fields_of(" \" 1,5 \" , z"), ElementsAre("1,5", "z"));
  EXPECT_THAT(fields_of("\"a;b\";c,d", ';'), ElementsAre("a;b", "c,d"));
  EXPECT_THAT(fields_of("\"a\tb\"\t\tc", '\t'), ElementsAre("a\tb", "", "c"));
}

TEST(CsvLine, a_line_whose_fields_cannot_be_told_apart_is_refused_with_its_place) {
  EXPECT_THAT(fields_of("a,\"b,c"),
              ElementsAre("3", "found a quote that is never closed, expected a second one in the same line"));
  EXPECT_THAT(fields_of("a,\"b\"c,d"),
              ElementsAre("6", "found text after a closing quote, expected a separator or the line's end"));
  EXPECT_THAT(fields_of("a,b\"c"),
              ElementsAre("4", "found a quote inside a field, expected quotes around the whole field"));
  EXPECT_THAT(fields_of(std::string(CsvLine::kFieldsMost, ',')),
              ElementsAre("1025", "found more than 1024 fields, expected 1024 at the most"));
  EXPECT_EQ(fields_of(std::string(CsvLine::kFieldsMost - 1, ',')).size(), CsvLine::kFieldsMost);
}

TEST(CsvLine, fields_know_where_they_begin) {
  CsvLine fields;
  ASSERT_TRUE(fields.split("a, bc,d"));
  EXPECT_EQ(fields.column(1), 4U);
  ASSERT_TRUE(fields.split("a,\"x\"\"y\", \"bc\""));
  EXPECT_EQ(fields.column(0), 1U);
  EXPECT_EQ(fields.column(1), 3U) << "with its quote, though the text is a copy";
  EXPECT_EQ(fields.column(2), 11U);
  EXPECT_EQ(fields.at(3), "");
  EXPECT_EQ(fields.at(-1), "");
  EXPECT_FALSE(fields.split("a,\"b"));
  ASSERT_TRUE(fields.split("2026-08-03,7"));
  EXPECT_EQ(fields.column(5), 13U) << "behind the line, and not where a line before it had its problem";
}

TEST(CsvLine, an_empty_last_field_makes_a_line_no_wider) {
  CsvLine fields;
  for (const auto& [line, width] : {std::pair{"a,b", 2U}, {"a,b,", 2U}, {"a,b,,", 3U}, {"a,b,\"\"", 2U}, {"", 0U}}) {
    ASSERT_TRUE(fields.split(line));
    EXPECT_EQ(fields.width(), width) << line;
  }
}

TEST(CsvLine, tells_columns_parted_by_semicolons_or_tabs) {
  EXPECT_EQ(delimiter_of("date,volume"), ',');
  EXPECT_EQ(delimiter_of("date"), ',');
  EXPECT_EQ(delimiter_of("date;open, adjusted;volume"), ';');
  EXPECT_EQ(delimiter_of("date\tvolume"), '\t');
}

// What is quoted as the RFC says comes back, whatever is in it.
TEST(CsvLine, what_is_quoted_comes_back) {
  std::mt19937 random(11);
  for (int round = 0; round < 2000; ++round) {
    std::vector<std::string> wanted(1 + random() % 5);
    std::string line;
    for (std::string& field : wanted) {
      for (std::size_t i = random() % 6; i > 0; --i) field += "ab\",;"[random() % 5];
      line += line.empty() ? "\"" : ",\"";
      for (const char c : field) line += c == '"' ? "\"\"" : std::string(1, c);
      line += '"';
    }
    ASSERT_EQ(fields_of(line), wanted) << line;
  }
}

}  // namespace
}  // namespace brimwatch
