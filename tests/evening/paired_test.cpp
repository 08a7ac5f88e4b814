// The paired test against published worked arithmetic and against Boost.Math; the correction against a worked example.
#include "evening/paired.h"

#include <gmock/gmock.h>

#include <boost/math/distributions/binomial.hpp>
#include <random>

namespace brimwatch {
namespace {

DayPair day_of(double a, double b) { return {{a, 1}, {b, 1}}; }

TEST(SwapTest, finds_the_odds_that_Fisher_worked_out_for_Darwins_maize) {
  // R. A. Fisher, The Design of Experiments (1935), section 21: heights of 15 pairs of plants, crossed against selfed,
  // differences in eighths of an inch; 863 of the 32768 arrangements of signs sum to as much as the observed 314, so 1726
  // do in either direction (5.267 %). The differences are quoted from memory; that they sum to 314 is checked.
  const double differences[] = {49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48};
  std::vector<DayPair> days;
  double sum = 0;
  for (const double one : differences) days.push_back(day_of(0, one)), sum += one;
  ASSERT_EQ(sum, 314);
  EXPECT_NEAR(*difference_of(days), 314.0 / 15, 1e-12);
  EXPECT_DOUBLE_EQ(*swap_test(days, 1), 1726.0 / 32768);
}

/// `b_only` days on which B alone was right, `a_only` on which A alone was, `both` on which both were.
std::vector<DayPair> yes_or_no(int a_only, int b_only, int both) {
  std::vector<DayPair> days;
  for (int i = 0; i < a_only; ++i) days.push_back(day_of(1, 0));
  for (int i = 0; i < b_only; ++i) days.push_back(day_of(0, 1));
  for (int i = 0; i < both; ++i) days.push_back(day_of(1, 1));
  return days;
}

TEST(SwapTest, of_single_outcomes_is_the_exact_binomial_test_of_the_days_that_differ) {
  // McNemar's exact test; the binomial distribution from Boost.Math.
  for (const auto& [a_only, b_only] : {std::pair(0, 5), {2, 9}, {4, 4}, {1, 15}, {7, 9}}) {
    const boost::math::binomial fair(a_only + b_only, 0.5);
    const double wanted = std::min(1.0, 2 * cdf(fair, std::min(a_only, b_only)));
    const auto days = yes_or_no(a_only, b_only, 6);
    EXPECT_NEAR(*swap_test(days, 1), wanted, 1e-12) << a_only << " against " << b_only;
  }
}

TEST(SwapTest, by_random_draws_agrees_with_the_exact_one) {
  // 40 days that differ: the binomial is exact, the draws have a standard error of sqrt(p (1 - p) / draws).
  constexpr int kDraws = 20'000;
  const boost::math::binomial fair(40, 0.5);
  const double wanted = 2 * cdf(fair, 14);
  EXPECT_NEAR(*swap_test(yes_or_no(14, 26, 10), kDraws), wanted, 4 * std::sqrt(wanted / kDraws));
}

TEST(SwapTest, keeps_days_with_several_crossings_together) {
  // Ten crossings that differ, but all on two days: four arrangements, of which two are as extreme. No evidence.
  const std::vector<DayPair> days = {{{0, 5}, {5, 5}}, {{0, 5}, {5, 5}}};
  EXPECT_DOUBLE_EQ(*swap_test(days, 1), 0.5);
}

TEST(SwapTest, says_nothing_where_one_side_has_nothing) {
  EXPECT_FALSE(swap_test(std::vector<DayPair>{{{1, 1}, {0, 0}}}, 100).has_value());
  EXPECT_FALSE(swap_test(std::vector<DayPair>{}, 100).has_value());
}

TEST(SwapTest, calls_chance_a_difference_as_rarely_as_it_promises) {
  // Two sets of rules that see the same days through the same dice, days of several crossings each: p under 0.05 may come
  // up in 5 of 100; of 400, more than 35 has a chance under 1e-3 (binomial).
  std::mt19937_64 random(7);
  int called = 0;
  for (int trial = 0; trial < 400; ++trial) {
    std::vector<DayPair> days;
    for (int i = 0; i < 25; ++i) {
      std::bernoulli_distribution good_day(std::uniform_real_distribution<double>(0.2, 0.8)(random));
      const bool mood = good_day(random);  // the day's crossings move together
      const auto part = [&] {
        Part out{0, 1 + static_cast<int>(random() % 4)};
        for (int k = 0; k < out.count; ++k) out.sum += random() % 4 == 0 ? !mood : mood;
        return out;
      };
      days.push_back({part(), part()});
    }
    called += *swap_test(days, 300) < 0.05;
  }
  EXPECT_LE(called, 35);
  EXPECT_GE(called, 5) << "it never calls anything: it is not a test";
}

TEST(Holm, steps_down_as_in_a_worked_example) {
  // Holm (1979), by hand: 0.005 x 4, 0.01 x 3, 0.03 x 2, and 0.04 x 1 held up by the one before.
  const auto out = holm(std::vector<double>{0.01, 0.04, 0.03, 0.005});
  const double wanted[] = {0.03, 0.06, 0.06, 0.02};
  for (std::size_t i = 0; i < out.size(); ++i) EXPECT_NEAR(out[i], wanted[i], 1e-12);
  EXPECT_EQ(holm(std::vector<double>{0.9, 0.8}).front(), 1);
}

TEST(Bootstrap, covers_the_true_difference_about_as_often_as_it_says) {
  std::mt19937_64 random(3);
  std::normal_distribution<double> noise(0, 1);
  int covered = 0;
  for (int trial = 0; trial < 300; ++trial) {
    std::vector<DayPair> days;
    for (int i = 0; i < 40; ++i) days.push_back(day_of(noise(random), 0.5 + noise(random)));
    const auto between = bootstrap(days, 400);
    covered += between->low <= 0.5 && 0.5 <= between->high;
  }
  EXPECT_GE(covered, 270);  // 95 % promised; percentile intervals of 40 days are a little short
}

}  // namespace
}  // namespace brimwatch
