// Intervals that know that crossings of one month come out alike.
#include "evening/share.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

std::vector<Decided> decided(int hits, int count, int in_a_month) {
  std::vector<Decided> out;
  for (int i = 0; i < count; ++i)
    out.push_back({Date::of(2000 + i / in_a_month / 12, static_cast<unsigned>(1 + i / in_a_month % 12), 1), i < hits});
  return out;
}

TEST(Share, of_one_crossing_a_month_has_wilsons_interval) {
  const Share share = share_of(decided(14, 20, 1), kFallAlike);
  const Interval wilson = wilson_interval(14, 20);
  EXPECT_NEAR(share.between.low, wilson.low, 1e-7);
  EXPECT_NEAR(share.between.high, wilson.high, 1e-7);
}

TEST(Share, of_many_crossings_a_month_is_known_as_well_as_that_of_fewer) {
  // 200 crossings, 20 a month, correlation 0.2: worth 200 / (1 + 19 x 0.2) = 41.67; of 125, 25 a month, worth 21.55.
  const Share share = share_of(decided(100, 200, 20), kFallAlike);
  const double worth = 200 / 4.8, z2 = 1.959963984540054 * 1.959963984540054;
  EXPECT_NEAR(share.between.high - share.between.low,
              2 * std::sqrt(z2) / (1 + z2 / worth) * std::sqrt(0.25 / worth + z2 / (4 * worth * worth)), 1e-9);
  EXPECT_EQ(share.of, 200);
  EXPECT_GT(share_of(decided(100, 200, 20), kVolumeAlike).between.low, share.between.low);
}

TEST(Share, of_nothing_says_nothing) {
  const Share share = share_of({}, kCloseAlike);
  EXPECT_EQ(share.of, 0);
  EXPECT_EQ(share.between.low, 0);
  EXPECT_EQ(share.between.high, 1);
}

}  // namespace
}  // namespace brimwatch
