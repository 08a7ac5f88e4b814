#include "tape/record_text.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

std::vector<std::string> texts(const RecordText& record) {
  std::vector<std::string> out;
  for (const RecordField& field : record.fields) out.emplace_back(field.text);
  return out;
}

using Texts = std::vector<std::string>;

// The rules of RFC 4180, section 2, by their numbers.
TEST(RecordText, FollowsTheRulesOfTheStandard) {
  RecordText record;
  record.read("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n");  // 1: a record a line
  EXPECT_EQ(texts(record), (Texts{"aaa", "bbb", "ccc"}));
  EXPECT_EQ(record.length, 13u);
  record.read("a b , c\n");  // 4: spaces belong to the field
  EXPECT_EQ(texts(record), (Texts{"a b ", " c"}));
  record.read("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz\r\n");  // 6: line ends inside quotes
  EXPECT_EQ(texts(record), (Texts{"aaa", "b\r\nbb", "ccc"}));
  EXPECT_EQ(record.lines, 2u);
  EXPECT_EQ(record.fields[1].column, 7u);
  record.read("\"aaa\",\"b\"\"bb\",\"ccc\"\n");  // 7: doubled quotes
  EXPECT_EQ(texts(record), (Texts{"aaa", "b\"bb", "ccc"}));
}

TEST(RecordText, EmptyFieldsAreFields) {
  RecordText record;
  record.read(",,\n");
  EXPECT_EQ(texts(record), (Texts{"", "", ""}));
  record.read("\"\",x\n");
  EXPECT_EQ(texts(record), (Texts{"", "x"}));
}

TEST(RecordText, AsksForMoreUntilTheLineEndIsThere) {
  RecordText record;
  const std::string whole = "a,\"b\"\"\",c\r\n";
  for (std::size_t n = 0; n < whole.size(); ++n) {
    record.read(whole.substr(0, n));
    EXPECT_NE(record.state, RecordText::State::whole) << n;
    EXPECT_NE(record.state, RecordText::State::stray_quote) << n;
  }
  record.read(whole);
  EXPECT_EQ(record.state, RecordText::State::whole);
}

TEST(RecordText, AStrayQuoteEndsWithItsLine) {
  RecordText record;
  for (const char* text : {"a,b\"c,d\nnext\n", "a,\"b\"c,d\nnext\n"}) {
    record.read(text);
    EXPECT_EQ(record.state, RecordText::State::stray_quote) << text;
    EXPECT_EQ(std::string(text).substr(record.length), "next\n");
  }
}

TEST(RecordText, AnOpenQuoteSaysWhereItOpened) {
  RecordText record;
  record.read("a,\"bc\nd\n");
  EXPECT_EQ(record.state, RecordText::State::open_quote);
  EXPECT_EQ(record.column, 3u);
  EXPECT_EQ(record.length, 6u);
}

}  // namespace
}  // namespace brimwatch
