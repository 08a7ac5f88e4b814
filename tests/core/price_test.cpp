#include "core/price.h"

#include <gtest/gtest.h>

#include "core/shares.h"
#include "core/watch.h"

namespace brimwatch {
namespace {

TEST(Price, ReadsPlainDecimalsExactly) {
  EXPECT_EQ(parse_price("48.35")->micros, 48'350'000);
  EXPECT_EQ(parse_price("0.000001")->micros, 1);
  EXPECT_EQ(parse_price("-1.5")->micros, -1'500'000);
  EXPECT_EQ(parse_price(".5")->micros, 500'000);
  EXPECT_EQ(parse_price("7.")->micros, 7'000'000);
  EXPECT_EQ(parse_price("9000000000000")->micros, 9'000'000'000'000'000'000);
}

TEST(Price, RefusesWhatIsNotANumber) {
  for (const char* text : {"", "-", ".", "48,35", "1e3", "+1", " 1", "1 ", "1.2.3", "nan", "99999999999999", "0x10"}) {
    EXPECT_FALSE(parse_price(text)) << text;
  }
}

TEST(Price, DigitsBelowAMillionthAreRefusedOrCut) {
  EXPECT_FALSE(parse_price("1.0000001"));
  EXPECT_EQ(parse_price("1.0000000")->micros, 1'000'000);
  EXPECT_EQ(parse_price("48.3499999", Extra::drop)->micros, 48'349'999);  // still under a pivot of 48.35
}

TEST(Price, TextIsShortestAndExact) {
  EXPECT_EQ(to_string(Price{48'350'000}), "48.35");
  EXPECT_EQ(to_string(Price{50'000'000}), "50.00");
  EXPECT_EQ(to_string(Price{1}), "0.000001");
  EXPECT_EQ(to_string(Price{-48'350'100}), "-48.3501");
  EXPECT_EQ(to_string(Shares{500'000}), "0.5");
  EXPECT_EQ(to_string(Shares::whole(100)), "100");
}

// Pivot = the handle's high plus ten cents; buy range 5 %; loss limit 8 %: common practice.
TEST(Levels, FollowFromThePivot) {
  Watch watch;
  watch.pivot = Price{48'350'000};
  set_levels(watch);
  EXPECT_EQ(to_string(watch.range_top), "50.76");    // 50.7675 cut to the tick size
  EXPECT_EQ(to_string(watch.loss_limit), "44.48");   // 44.482
  EXPECT_EQ(to_string(watch.rearm_level), "47.86");  // 47.8665
}

TEST(Brief, ThreeFiguresThatCount) {
  EXPECT_EQ(brief(612), "612");
  EXPECT_EQ(brief(612'345), "612k");
  EXPECT_EQ(brief(2'300'000), "2.30M");
  EXPECT_EQ(brief(999'960), "1.00M");
  EXPECT_EQ(parse_brief_shares("1.3M")->micros, Shares::whole(1'300'000).micros);
  EXPECT_EQ(parse_brief_shares("1_300_000")->micros, Shares::whole(1'300'000).micros);
  EXPECT_EQ(parse_brief_shares("410k")->micros, Shares::whole(410'000).micros);
  EXPECT_FALSE(parse_brief_shares("k"));
  EXPECT_FALSE(parse_brief_shares("1M3"));
}

}  // namespace
}  // namespace brimwatch
