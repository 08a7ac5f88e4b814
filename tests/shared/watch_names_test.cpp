#include "shared/entries/watch_names.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

TEST(WatchNames, says_what_stands_on_one_list_only) {
  EXPECT_EQ(list_difference("home", "A 1.00\nB 2.00\n", "cloud", "B 2.00\nA 1.00\n"), "");
  EXPECT_EQ(list_difference("home", "A 1.00\nB 2.00\n", "cloud", "B 2.50\nA 1.00\n"),
            "only on home: B 2.00; only on cloud: B 2.50");
  EXPECT_EQ(list_difference("home", "A 1\nB 1\nC 1\nD 1\nE 1\nF 1\nG 1\n", "cloud", ""),
            "only on home: A 1, B 1, C 1, D 1, E 1 and 2 more");
}

/// FNV-1a's own test values: http://www.isthe.com/chongo/tech/comp/fnv/ (from memory: of "" and of "a").
TEST(WatchNames, hashes_as_its_definition_says) {
  EXPECT_EQ(short_hash(""), "cbf29ce484222325");
  EXPECT_EQ(short_hash("a"), "af63dc4c8601ec8c");
}

}  // namespace
}  // namespace brimwatch
