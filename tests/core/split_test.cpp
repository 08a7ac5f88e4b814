// A split in words and in a watch's levels. Common practice: new shares before old ones, 1:10 for a consolidation; the
// levels by hand.
#include "core/split.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

TEST(Split, IsNamedAsTheTradeNamesIt) {
  EXPECT_EQ(split_text(2), "2:1");
  EXPECT_EQ(split_text(1.5), "3:2");
  EXPECT_EQ(split_text(1.25), "5:4");
  EXPECT_EQ(split_text(20), "20:1");
  EXPECT_EQ(split_text(0.1), "1:10");
  EXPECT_EQ(split_text(1.0 / 3), "1:3");
  EXPECT_EQ(split_text(1.0 / 50), "1:50");
  EXPECT_EQ(split_text(1.0 / 500), "1:500");
  EXPECT_EQ(split_command("KLVN", 0.02), "brimwatch history split KLVN 1:50 --take");
}

// 24.18 x 1.05 = 25.389 and x 0.92 = 22.2456, 4.80 x 0.92 = 4.416: limits lie on the tick under that.
TEST(Split, MovesThePivotOntoATickAndItsLimitsWithIt) {
  const SplitWatch two = after_split(Price{48'350'000}, Rules{}, 2);
  EXPECT_EQ(in_words(two), "pivot 48.35 would be 24.18, range to 25.38, loss limit 22.24");
  const SplitWatch less = after_split(Price{480'000}, Rules{}, 0.1);
  EXPECT_EQ(in_words(less), "pivot 0.48 would be 4.80, range to 5.04, loss limit 4.41");
}

TEST(Split, PricesGoToTheNearestStep) {
  EXPECT_EQ(in_terms(Price{48'350'000}, 0.5, Price{10'000}).micros, 24'180'000);
  EXPECT_EQ(in_terms(Price{48'350'000}, 0.5, {}).micros, 24'175'000);
}

}  // namespace
}  // namespace brimwatch
