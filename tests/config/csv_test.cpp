#include "config/reading/csv.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using Rows = std::vector<std::vector<std::string>>;

struct Read {
  Rows rows;
  std::string error;
};

Read read(std::string_view text) {
  Read out;
  CsvReader reader(text);
  while (reader.next()) {
    auto& row = out.rows.emplace_back();
    for (const CsvCell& cell : reader.cells()) row.emplace_back(cell.text);
  }
  if (!reader.error().empty()) {
    out.error = std::to_string(reader.error_at().line) + ":" + std::to_string(reader.error_at().column) + ": ";
    out.error += reader.error();
  }
  return out;
}

TEST(Csv, reads_the_examples_of_rfc_4180) {
  // RFC 4180, section 2, items 1 to 7.
  EXPECT_EQ(read("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n").rows, (Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
  EXPECT_EQ(read("aaa,bbb,ccc\r\nzzz,yyy,xxx").rows, (Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
  EXPECT_EQ(read("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx").rows,
            (Rows{{"aaa", "b\r\nbb", "ccc"}, {"zzz", "yyy", "xxx"}}));
  EXPECT_EQ(read("\"aaa\",\"b\"\"bb\",\"ccc\"").rows, (Rows{{"aaa", "b\"bb", "ccc"}}));
}

TEST(Csv, empty_cells_stay_and_empty_lines_and_comments_go) {
  EXPECT_EQ(read("a,,\n\n\n# x,y\n,b,\n\"\"\n").rows, (Rows{{"a", "", ""}, {"", "b", ""}, {""}}));
  EXPECT_EQ(read("").rows, Rows{});
  EXPECT_EQ(read("# only\r# old line ends\r").rows, Rows{});
  EXPECT_EQ(read("a,b\rc,d\r").rows, (Rows{{"a", "b"}, {"c", "d"}}));
}

TEST(Csv, cells_know_where_they_stand) {
  CsvReader reader("x\n\xC3\xA4, \"q\nr\", z");
  ASSERT_TRUE(reader.next());
  ASSERT_TRUE(reader.next());
  EXPECT_EQ(reader.line(), 2U);
  const auto& cells = reader.cells();
  ASSERT_EQ(cells.size(), 3U);
  EXPECT_EQ(cells[1].line, 2U);
  EXPECT_EQ(cells[1].column, 4U);
  EXPECT_EQ(cells[2].line, 3U);
  EXPECT_EQ(cells[2].column, 5U);
}

TEST(Csv, what_cannot_be_read_on_is_told_once_with_its_place) {
  EXPECT_EQ(read("a,\"b\nc").error, "1:3: found a quote that is never closed, expected a second one");
  EXPECT_EQ(read("a,\"b\"c\n").error, "1:6: found text after a closing quote, expected a comma or the line's end");
  EXPECT_EQ(read("a,b\"c\n").error, "1:4: found a quote inside a cell, expected quotes around the whole cell");
  const std::string longest(CsvReader::kCellMost, 'x');
  EXPECT_EQ(read("\"" + longest + "\",b\n").rows, (Rows{{longest, "b"}}));
  EXPECT_EQ(read("\"x" + longest + "\",b\n").error, "1:1: found a quote that is never closed, expected a second one");
  EXPECT_EQ(read("\"" + longest + "\"\"\",b\n").error, "1:1: found a quote that is never closed, expected a second one");
  EXPECT_EQ(read("a," + std::string(70'000, 'x')).error, "1:70003: found a cell of more than 65536 bytes");
  EXPECT_EQ(read("a,\"" + std::string(70'000, 'x') + "\"").error,
            "1:3: found a quote that is never closed, expected a second one");
  EXPECT_EQ(read(std::string(64, ',') + "\n").error, "1:65: found more than 64 cells in a record");
}

}  // namespace
}  // namespace brimwatch
