// Shares clustered by month, areas under the curve, Brier scores.
#include "crossings/tally.h"

#include <gtest/gtest.h>

#include <cmath>

namespace brimwatch {
namespace {

Counted on(unsigned month, bool came) { return {Date::of(2026, month, 10), came}; }

TEST(Share, is_no_surer_for_crossings_that_repeat_their_months_result) {
  const std::vector<Counted> once = {on(1, true), on(2, false), on(3, true), on(4, false)};
  std::vector<Counted> tenfold;
  for (int i = 0; i < 10; ++i) tenfold.insert(tenfold.end(), once.begin(), once.end());
  EXPECT_DOUBLE_EQ(share_by_month(once).share, 0.5);
  EXPECT_DOUBLE_EQ(share_by_month(tenfold).half, share_by_month(once).half);
  EXPECT_DOUBLE_EQ(share_by_month(once).half, 1.96 * std::sqrt(4 * 0.25) / 4);
}

TEST(Share, gives_no_interval_for_a_single_month) { EXPECT_EQ(share_by_month(std::vector{on(1, true)}).half, 0); }

TEST(Area, counts_pairs_in_the_right_order_and_ties_by_half) {
  // Mann and Whitney's count by hand: of 2 x 3 pairs four and a half are in order.
  EXPECT_DOUBLE_EQ(area_under_curve({{.9, true}, {.5, true}, {.7, false}, {.5, false}, {.1, false}}), 4.5 / 6);
  EXPECT_DOUBLE_EQ(area_under_curve({{.9, true}}), 0.5);
}

TEST(BrierScore, is_the_mean_squared_error) {
  EXPECT_DOUBLE_EQ(brier(std::vector<Forecast>{{.8, true}, {.4, false}}), (.04 + .16) / 2);
}

}  // namespace
}  // namespace brimwatch
