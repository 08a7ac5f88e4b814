// Two sets of rules side by side: chance must be called chance, and a real difference must be seen.
#include "evening/compare.h"

#include <gmock/gmock.h>

#include <random>

#include "record.h"

namespace brimwatch {
namespace {

using testing_support::crossing;
using testing_support::kDay;

/// `days` days with three heavy crossings each, of which each one's volume comes with probability `hit`.
Review review_with(int days, double hit, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::bernoulli_distribution comes(hit);
  Review out;
  for (int day = 0; day < days; ++day) {
    for (int i = 0; i < 3; ++i) {
      Crossing one;
      one.said = crossing(Weight::heavy, 0.7, kDay + day);
      one.came = comes(random);
      out.crossings.push_back(one);
    }
  }
  return out;
}

const Measure& hits(const Comparison& comparison) { return comparison.measures.front(); }

TEST(Compare, calls_equal_rules_equal) {
  const Review one = review_with(60, 0.7, 1);
  const Comparison out = compare(one, one);
  EXPECT_EQ(hits(out).difference, 0);
  EXPECT_TRUE(hits(out).within_noise);
  EXPECT_THAT(out.verdict, ::testing::HasSubstr("within noise"));
}

TEST(Compare, sees_a_large_difference_over_many_days) {
  const Comparison out = compare(review_with(100, 0.4, 1), review_with(100, 0.8, 2));
  EXPECT_FALSE(hits(out).within_noise);
  EXPECT_GT(hits(out).low, 0);
  EXPECT_LT(*hits(out).p, 0.001);
  EXPECT_THAT(out.verdict, ::testing::HasSubstr("B is better"));
}

TEST(Compare, says_that_few_days_tell_nothing) {
  const Comparison out = compare(review_with(6, 0.0, 1), review_with(6, 1.0, 2));
  EXPECT_TRUE(hits(out).within_noise);
  EXPECT_THAT(out.verdict, ::testing::HasSubstr("too few"));
}

TEST(Compare, is_wrong_about_equal_rules_as_rarely_as_its_interval_promises) {
  // At 0.05: of 200 pairs of equal rules about 10 are called different; more than 24 has a chance under 1e-4.
  int wrong = 0;
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    wrong += !hits(compare(review_with(40, 0.6, 2 * seed), review_with(40, 0.6, 2 * seed + 1), 400)).within_noise;
  }
  EXPECT_LE(wrong, 24);
}

TEST(Compare, gives_shares_with_their_hits_and_wilson_intervals) {
  const Review a = review_with(40, 0.5, 1), b = review_with(40, 0.6, 2);
  const Measure m = hits(compare(a, b));
  EXPECT_EQ(m.count_a, 120);
  EXPECT_DOUBLE_EQ(m.a, 100.0 * m.hits_a / 120);
  EXPECT_DOUBLE_EQ(m.between_a.low, wilson_interval(m.hits_a, 120).low);
  EXPECT_DOUBLE_EQ(m.difference, m.b - m.a);
}

TEST(Compare, looks_at_many_measures_with_more_care_than_at_one) {
  const Comparison out = compare(review_with(40, 0.5, 1), review_with(40, 0.6, 2));
  for (const Measure& m : out.measures) {
    if (!m.p) continue;
    EXPECT_GE(m.p_together, *m.p) << m.name;
  }
}

TEST(Compare, says_that_a_difference_is_within_noise_in_words_and_on_the_page) {
  const Comparison out = compare(review_with(40, 0.55, 1), review_with(40, 0.6, 2));
  ASSERT_TRUE(hits(out).within_noise);
  EXPECT_THAT(in_words(out, "a.toml", "b.toml"), ::testing::HasSubstr("WARNING: every difference is within noise"));
  const std::string page = to_html(out, "<a>.toml", "b.toml");
  EXPECT_THAT(page, ::testing::HasSubstr("within noise"));
  EXPECT_THAT(page, ::testing::Not(::testing::HasSubstr("<a>")));
}

TEST(Compare, gives_the_same_interval_every_time) {
  const Review a = review_with(40, 0.5, 1), b = review_with(40, 0.6, 2);
  EXPECT_EQ(to_json(compare(a, b)), to_json(compare(a, b)));
}

}  // namespace
}  // namespace brimwatch
