// Two sets of rules side by side: chance must be called chance, and a real difference must be seen.
#include "evening/compare.h"

#include <gmock/gmock.h>

#include <random>

#include "record.h"

namespace brimwatch {
namespace {

using testing_support::crossing;
using testing_support::kDay;

/// `days` sessions with three heavy crossings each, of which each one's volume comes with probability `hit`.
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
    out.sessions.push_back(kDay + day);
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

TEST(Compare, says_that_few_blocks_of_days_tell_nothing) {
  const Comparison out = compare(review_with(40, 0.0, 1), review_with(40, 1.0, 2));
  EXPECT_TRUE(hits(out).within_noise);
  EXPECT_THAT(out.verdict, ::testing::HasSubstr("too few"));
}

TEST(Compare, gives_shares_with_their_hits_and_intervals) {
  const Review a = review_with(80, 0.5, 1), b = review_with(80, 0.6, 2);
  const Measure m = hits(compare(a, b));
  EXPECT_EQ(m.count_a, 240);
  EXPECT_DOUBLE_EQ(m.a, 100.0 * m.share_a.hits / 240);
  EXPECT_LT(m.share_a.between.low, wilson_interval(m.share_a.hits, 240).low) << "crossings of a month are alike";
  EXPECT_DOUBLE_EQ(m.difference, m.b - m.a);
}

TEST(Compare, looks_at_many_measures_with_more_care_than_at_one) {
  const Comparison out = compare(review_with(80, 0.5, 1), review_with(80, 0.6, 2));
  for (const Measure& m : out.measures) {
    if (!m.p) continue;
    EXPECT_GE(m.p_together, *m.p) << m.name;
  }
}

TEST(Compare, says_that_a_difference_is_within_noise_in_words_and_on_the_page) {
  const Comparison out = compare(review_with(80, 0.55, 1), review_with(80, 0.6, 2));
  ASSERT_TRUE(hits(out).within_noise);
  EXPECT_THAT(in_words(out, "a.toml", "b.toml"), ::testing::HasSubstr("WARNING: every difference is within noise"));
  const std::string page = to_html(out, "<a>.toml", "b.toml");
  EXPECT_THAT(page, ::testing::HasSubstr("within noise"));
  EXPECT_THAT(page, ::testing::Not(::testing::HasSubstr("<a>")));
}

TEST(Compare, sets_later_outcomes_against_the_index_where_there_is_one) {
  Review a = review_with(80, 0.5, 1), b = a;
  for (std::size_t i = 0; i < a.crossings.size(); ++i) {
    a.crossings[i].after[1] = Swing{6, -1, 3.0, 2.0};
    b.crossings[i].after[1] = Swing{6, -1, 4.0, 2.0 + (i % 2 ? 0.5 : 0.0)};
  }
  const auto close_after_5 = [&] {
    for (const Measure& m : compare(a, b).measures)
      if (m.name == "close after 5 sessions, %") return m;
    return Measure{};
  };
  EXPECT_FALSE(close_after_5().less_index);
  EXPECT_NEAR(close_after_5().difference, 1, 1e-9);
  a.has_index = b.has_index = true;
  EXPECT_TRUE(close_after_5().less_index);
  EXPECT_NEAR(close_after_5().a, 1, 1e-9);
  EXPECT_NEAR(close_after_5().difference, 0.75, 1e-9);
  EXPECT_THAT(in_words(compare(a, b), "a", "b"), ::testing::HasSubstr("close after 5 sessions, %, less the index"));
}

TEST(Compare, counts_a_position_that_is_open_with_what_it_stands_at) {
  Review a = review_with(80, 0.5, 1), b = a;
  for (std::size_t i = 0; i < a.crossings.size(); ++i) {
    for (Review* review : {&a, &b}) {
      Followed& f = review->crossings[i].followed;
      f.taken = true, f.result = i % 3 ? -8 : 5, f.open = i % 3 == 0;
    }
  }
  const Measure m = compare(a, b).measures.back();
  EXPECT_EQ(m.count_a, 240);
  EXPECT_NEAR(m.a, (2 * -8 + 5) / 3.0, 1e-9);
}

TEST(Compare, keeps_to_eighty_columns) {
  const std::string words =
      in_words(compare(review_with(80, 0.5, 1), review_with(80, 0.9, 2)), "strict.toml", "loose.toml");
  for (std::size_t from = 0, to = 0; (to = words.find('\n', from)) != std::string::npos; from = to + 1)
    EXPECT_LE(to - from, 80U) << words.substr(from, to - from);
}

TEST(Compare, gives_the_same_interval_every_time) {
  const Review a = review_with(80, 0.5, 1), b = review_with(80, 0.6, 2);
  EXPECT_EQ(to_json(compare(a, b)), to_json(compare(a, b)));
}

}  // namespace
}  // namespace brimwatch
