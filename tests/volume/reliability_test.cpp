#include "volume/grading/reliability.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

namespace brimwatch {
namespace {

using testing::HasSubstr;

/// Judgements whose outcomes come true with probability truth(odds).
template <typename Truth>
std::vector<JudgedOdds> judgements(int count, Truth truth) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> uniform(0, 1);
  std::vector<JudgedOdds> out;
  for (int i = 0; i < count; ++i) {
    const double odds = uniform(random);
    out.push_back({Date{20'000 + i / 3}, odds, uniform(random) < truth(odds)});
  }
  return out;
}

// Newcombe 1998, Statistics in Medicine 17, table I, method 3 (Wilson): 81 of 263 gives .2553 to .3662, 15 of 148 gives
// .0624 to .1605, 0 of 20 gives 0 to .1611. (Values from memory of the paper, confirmed by the formula's published form.)
TEST(Wilson, PublishedValues) {
  EXPECT_NEAR(wilson_interval(81, 263).low, .2553, 5e-5);
  EXPECT_NEAR(wilson_interval(81, 263).high, .3662, 5e-5);
  EXPECT_NEAR(wilson_interval(15, 148).low, .0624, 5e-5);
  EXPECT_NEAR(wilson_interval(15, 148).high, .1605, 5e-5);
  EXPECT_NEAR(wilson_interval(0, 20).low, 0, 1e-12);
  EXPECT_NEAR(wilson_interval(0, 20).high, .1611, 5e-5);
  EXPECT_EQ(wilson_interval(0, 0).high, 1);
}

TEST(Reliability, HonestOddsHold) {
  const Reliability r = judge_reliability(judgements(2000, [](double p) { return p; }));
  EXPECT_EQ(r.drift, Drift::holds);
  EXPECT_EQ(r.count, 2000);
  for (const ReliabilityRow& row : r.rows) {
    EXPECT_GT(row.count, 100);
    EXPECT_GE(row.said, row.from);
    EXPECT_LE(row.said, row.to);
    EXPECT_TRUE(row.low <= row.share && row.share <= row.high);
  }
}

TEST(Reliability, SaysWhichWayTheOddsWentWrong) {
  EXPECT_EQ(judge_reliability(judgements(900, [](double p) { return 0.7 * p; })).drift, Drift::too_high);
  EXPECT_EQ(judge_reliability(judgements(900, [](double p) { return 0.3 + 0.7 * p; })).drift, Drift::too_low);
  EXPECT_EQ(judge_reliability(judgements(900, [](double p) { return 0.5 + 0.6 * (p - 0.5); })).drift, Drift::too_bold);
  EXPECT_EQ(judge_reliability(judgements(900, [](double p) { return p > 0.5 ? 1 : 0; })).drift, Drift::too_timid);
  EXPECT_EQ(judge_reliability(judgements(12, [](double) { return 0; })).drift, Drift::too_few);
  EXPECT_THAT(describe_drift(judge_reliability(judgements(900, [](double p) { return 0.7 * p; }))),
              HasSubstr("too high: 900"));
}

// Thirty stocks on each of ten days, all of a day alike: honest odds look wrong if they are counted as independent.
TEST(Reliability, StocksOfOneDayCountAsMovingTogether) {
  std::vector<JudgedOdds> judged;
  for (int day = 0; day < 12; ++day) {
    for (int stock = 0; stock < 30; ++stock) judged.push_back({Date{day}, 0.5, day < 8});
  }
  EXPECT_EQ(judge_reliability(judged).drift, Drift::holds);
}

TEST(Reliability, WhatIsNoProbabilityIsLeftOutAndCounted) {
  const std::vector<JudgedOdds> judged = {
      {Date{1}, std::nan(""), true}, {Date{1}, 1.5, true}, {Date{1}, 1, true}, {Date{2}, 0, false}};
  const Reliability r = judge_reliability(judged);
  EXPECT_EQ(r.left_out, 2);
  EXPECT_EQ(r.count, 2);
  EXPECT_EQ(r.rows[9].count, 1);
  EXPECT_EQ(r.brier, 0);
  EXPECT_EQ(judge_reliability({}).drift, Drift::too_few);
}

}  // namespace
}  // namespace brimwatch
