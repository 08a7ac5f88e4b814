#include "volume/learning/prior.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace brimwatch {
namespace {

TEST(Prior, IsTheFormulaOfTheModel) {
  std::vector<double> logs;
  for (int i = 0; i < 50; ++i) logs.push_back(10 + 0.01 * i);
  const double m5 = 10.47, m20 = 10.395, m50 = 10.245;
  EXPECT_NEAR(prior_from_days(logs).mean, m20 - 0.009 + 0.43 * (10.49 - m20) + 0.28 * (m5 - m20) + 0.24 * (m50 - m20),
              1e-12);
  EXPECT_EQ(prior_from_days(logs).scale, 1);
  EXPECT_NEAR(prior_from_days(std::vector<double>{10, 11}).mean, 10.5, 1e-12);
  EXPECT_NEAR(prior_from_days(std::vector<double>{10, 11}).scale, std::sqrt(2.0), 1e-12);
}

// Means on hour bars of three stocks, 1998-2008: -.54 before Independence Day, -.87 after Thanksgiving, -1.02 before
// Christmas; 84 large stocks of 2012-2017: -.54, -.53, -1.03.
TEST(Prior, AHalfDaysLevelHangsOnItsKindAndALittleOnTheSymbol) {
  EXPECT_NEAR(half_day_level(210, 7), -0.55, 1e-12);
  EXPECT_NEAR(half_day_level(210, 11), -0.75, 1e-12);
  EXPECT_NEAR(half_day_level(210, 12), -1.0, 1e-12);
  EXPECT_NEAR(half_day_level(210, 5), -0.80, 1e-12);
  EXPECT_EQ(half_day_level(390, 12), 0);
  EXPECT_NEAR(half_day_level(300, 12), -0.5, 1e-12);
  EXPECT_NEAR(own_half_day_level(-0.75, std::vector<double>(30, 0.26)), -0.75 + 0.26 * 10 / 26, 1e-12);
  EXPECT_EQ(own_half_day_level(-0.75, {}), -0.75);
}

}  // namespace
}  // namespace brimwatch
