// The user's own curve: logistic regression with the shipped curve as its prior.
#include "crossings/fit.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

namespace brimwatch {
namespace {

std::vector<OddsExample> drawn_from(const OddsCurve& truth, int count, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::vector<OddsExample> out;
  for (int i = 0; i < count; ++i) {
    const double move = std::uniform_real_distribution<double>(0.6, 3)(random);
    out.push_back({move, std::uniform_real_distribution<double>(0, 1)(random) < truth.at(move)});
  }
  return out;
}

TEST(Fit, finds_the_curve_that_many_crossings_were_drawn_from) {
  const OddsCurve truth{0.9, -3.5};
  const OddsCurve found = fit_curve(drawn_from(truth, 200'000, 5), kShippedUp20, 0);
  EXPECT_NEAR(found.level, truth.level, 0.05);
  EXPECT_NEAR(found.move, truth.move, 0.06);
}

TEST(Fit, without_a_prior_solves_the_likelihood_equations_of_logistic_regression) {
  // What came and what is said have the same sum, plain and weighted by the regressor (any textbook; common practice).
  const auto examples = drawn_from({0.5, -2}, 700, 9);
  const OddsCurve found = fit_curve(examples, kShippedUp20, 0);
  double plain = 0, weighted = 0;
  for (const OddsExample& one : examples) {
    const double off = (one.came ? 1 : 0) - found.at(one.ordinary_move);
    plain += off;
    weighted += off / one.ordinary_move;
  }
  EXPECT_NEAR(plain, 0, 1e-8);
  EXPECT_NEAR(weighted, 0, 1e-8);
}

TEST(Fit, of_few_crossings_stays_near_the_shipped_curve_and_of_many_leaves_it) {
  const OddsCurve truth{1.5, -2.7};
  double before = 0;
  for (const int count : {0, 200, 1000, 20'000}) {
    const OddsCurve found = fit_curve(drawn_from(truth, count, 3), kShippedUp20);
    const double left = found.at(1.5) - kShippedUp20.at(1.5);
    EXPECT_TRUE(count == 0 ? left == 0 : left > before) << count;
    before = left;
  }
  const OddsCurve half = fit_curve(drawn_from(truth, 1000, 3), kShippedUp20);
  const double way = (half.at(1.5) - kShippedUp20.at(1.5)) / (truth.at(1.5) - kShippedUp20.at(1.5));
  EXPECT_NEAR(way, 0.5, 0.1) << "as many of its own as the shipped curve counts for: half way";
}

TEST(Fit, keeps_the_prior_where_all_crossings_are_of_one_ordinary_move) {
  const std::vector<OddsExample> same(500, OddsExample{1.2, true});
  const OddsCurve found = fit_curve(same, kShippedUp20);
  EXPECT_EQ(found, kShippedUp20);
}

}  // namespace
}  // namespace brimwatch
