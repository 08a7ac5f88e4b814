// A message's last bytes leave only while it may be sent; the others go whatever is allowed.
#include "adapters/channels/last_chunk.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

TEST(LastChunk, gives_all_in_pieces_while_it_may) {
  const std::function<bool()> may = [] { return true; };
  LastChunk body{"0123456789", may};
  char buffer[4];
  std::string given;
  for (std::size_t some = 1; some != 0;) {
    some = LastChunk::give(buffer, 1, sizeof buffer, &body);
    given.append(buffer, some);
  }
  EXPECT_EQ(given, "0123456789");
}

TEST(LastChunk, asks_again_at_the_last_bytes_and_leaves_them_out) {
  int asked = 0;
  const std::function<bool()> may = [&] { return ++asked, false; };
  LastChunk body{"0123456789", may};
  char buffer[8];
  EXPECT_EQ(LastChunk::give(buffer, 1, sizeof buffer, &body), 8U);
  EXPECT_EQ(asked, 0) << "a right that runs out is looked at as late as can be";
  EXPECT_EQ(LastChunk::give(buffer, 1, sizeof buffer, &body), static_cast<std::size_t>(CURL_READFUNC_ABORT));
  EXPECT_EQ(asked, 1);
}

TEST(LastChunk, gives_all_where_nothing_forbids_it) {
  const std::function<bool()> nobody;
  LastChunk body{"01", nobody};
  char buffer[8];
  EXPECT_EQ(LastChunk::give(buffer, 1, sizeof buffer, &body), 2U);
  EXPECT_EQ(LastChunk::give(buffer, 1, sizeof buffer, &body), 0U);
}

}  // namespace
}  // namespace brimwatch
