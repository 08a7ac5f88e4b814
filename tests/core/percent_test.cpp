#include "core/text/percent.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

// RFC 3986, sections 2.1 and 2.3.
TEST(PercentEncode, LeavesUnreservedCharactersAndThoseThatAreKept) {
  EXPECT_EQ(percent_encode("AZaz09-._~"), "AZaz09-._~");
  EXPECT_EQ(percent_encode("a b&c/\xc3\xa9"), "a%20b%26c%2F%C3%A9");
  EXPECT_EQ(percent_encode("/var/lib/a?b#c%d", "/"), "/var/lib/a%3Fb%23c%25d");
}

}  // namespace
}  // namespace brimwatch
