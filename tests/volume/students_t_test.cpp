#include "volume/students_t.h"

#include <gtest/gtest.h>

#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>

namespace brimwatch {
namespace {

// The reference is Boost.Math's students_t, an independent implementation by the incomplete beta function.
const boost::math::students_t kReference(8);

TEST(StudentsT8, CdfAgreesWithBoostMathFarIntoBothTails) {
  for (double x = -60; x <= 60; x += 0.0137) {
    const double wanted = boost::math::cdf(kReference, x);
    EXPECT_NEAR(t8_cdf(x), wanted, 2e-14) << x;
    EXPECT_NEAR(t8_cdf(-std::fabs(x)) / boost::math::cdf(kReference, -std::fabs(x)), 1, 1e-11) << x;
  }
}

TEST(StudentsT8, QuantileAgreesWithBoostMath) {
  for (double p = 1e-12; p < 0.999999; p = p < 0.01 ? p * 1.37 : p + 0.0021) {
    const double wanted = boost::math::quantile(kReference, p);
    EXPECT_NEAR(t8_inverse(p), wanted, 1e-10 * std::fmax(1, std::fabs(wanted))) << p;
  }
}

// Common tables: the one-sided 95 % point with 8 degrees of freedom is 1.860.
TEST(StudentsT8, TheTableValue) { EXPECT_NEAR(t8_cdf(1.860), 0.950, 0.0005); }

TEST(StudentsT8, IsTotal) {
  const double inf = std::numeric_limits<double>::infinity();
  EXPECT_EQ(t8_cdf(inf), 1);
  EXPECT_EQ(t8_cdf(-inf), 0);
  EXPECT_EQ(t8_cdf(std::nan("")), 0.5);
  EXPECT_EQ(t8_inverse(0), -inf);
  EXPECT_EQ(t8_inverse(1), inf);
  EXPECT_EQ(t8_inverse(0.5), 0);
  EXPECT_EQ(t8_inverse(std::nan("")), 0);
}

// The leaning errors are made of two halves of it: each half's quantiles stretched, half of the days on each side.
TEST(StudentsT8, TheLeaningOneHasItsHalvesStretched) {
  for (double p = 0.001; p < 1; p += 0.0173) {
    const double wanted = boost::math::quantile(kReference, p) * (p < 0.5 ? 1 - kSkew : 1 + kSkew);
    EXPECT_NEAR(skewed_t8_inverse(p), wanted, 1e-9);
    EXPECT_NEAR(skewed_t8_cdf(wanted), p, 1e-12);
  }
  double mean = 0;
  constexpr int kSteps = 200'000;
  for (int i = 0; i < kSteps; ++i) mean += skewed_t8_inverse((i + 0.5) / kSteps) / kSteps;
  EXPECT_NEAR(mean, kSkewMean, 1e-3);
}

}  // namespace
}  // namespace brimwatch
