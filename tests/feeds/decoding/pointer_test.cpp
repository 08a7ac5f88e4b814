// RFC 6901: the grammar and the escapes. Its section 5 examples against documents are in decoder_test.cpp.
#include "adapters/feeds/decoding/pointer.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

std::vector<std::string> tokens(std::string_view text) {
  return parse_pointer(text).value_or(std::vector<std::string>{"?"});
}

TEST(Pointer, EmptyTextIsTheWholeDocument) { EXPECT_TRUE(tokens("").empty()); }

TEST(Pointer, SplitsAtSlashesAndKeepsEmptyTokens) {
  EXPECT_THAT(tokens("/foo/0"), ElementsAre("foo", "0"));
  EXPECT_THAT(tokens("/"), ElementsAre(""));
  EXPECT_THAT(tokens("/a//b/"), ElementsAre("a", "", "b", ""));
}

TEST(Pointer, UndoesEscapesInTheOrderOfTheStandard) {  // RFC 6901, section 4: "~01" becomes "~1", never "/"
  EXPECT_THAT(tokens("/a~1b"), ElementsAre("a/b"));
  EXPECT_THAT(tokens("/m~0n"), ElementsAre("m~n"));
  EXPECT_THAT(tokens("/~01"), ElementsAre("~1"));
}

TEST(Pointer, RefusesWhatIsNoPointerAndSaysWhy) {
  EXPECT_THAT(parse_pointer("price").error().text, HasSubstr("expected a JSON Pointer such as /price"));
  EXPECT_THAT(parse_pointer("/a~2").error().text, HasSubstr("'~' stands only before 0"));
  EXPECT_FALSE(parse_pointer("/a~"));
}

TEST(Pointer, ArrayIndexHasNoLeadingZero) {  // RFC 6901, section 4
  EXPECT_EQ(array_index("0"), 0U);
  EXPECT_EQ(array_index("10"), 10U);
  for (const char* bad : {"", "-", "01", "1e0", " 1", "99999999999999999999"}) EXPECT_FALSE(array_index(bad)) << bad;
}

}  // namespace
}  // namespace brimwatch
