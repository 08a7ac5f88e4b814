#include "live/heard_day.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

DayRecord whole_day() {
  DayRecord record;
  record.day = Date::of(2026, 11, 25);
  record.symbol = "KLVN";
  record.volume = Shares::whole(410'000);
  record.open = Price{48'000'000}, record.high = Price{49'000'000};
  record.low = Price{47'500'000}, record.close = Price{48'500'000};
  return record;
}

TEST(HeardDay, AWholeDayOfAWholeFeedIsABar) {
  const auto bar = heard_day(whole_day(), nullptr);
  ASSERT_TRUE(bar);
  EXPECT_EQ(*bar, (DailyBar{Date::of(2026, 11, 25), Price{48'000'000}, Price{49'000'000}, Price{47'500'000},
                            Price{48'500'000}, 410'000}));
}

TEST(HeardDay, AFeedsKnownPartIsMadeWhole) {
  Learned learned;
  learned.feed_ratio = 0.041;
  learned.ratio_days = 6;
  EXPECT_EQ(heard_day(whole_day(), &learned)->volume, 10'000'000);
}

TEST(HeardDay, AHoleAPriceThatIsMissingOrAnUnknownPartMakeNone) {
  DayRecord hole = whole_day(), no_price = whole_day();
  hole.coverage = 0.99;
  no_price.low = {};
  Learned doubted;
  doubted.ratio_doubt = true;
  EXPECT_FALSE(heard_day(hole, nullptr));
  EXPECT_FALSE(heard_day(no_price, nullptr));
  EXPECT_FALSE(heard_day(whole_day(), &doubted));
}

}  // namespace
}  // namespace brimwatch
