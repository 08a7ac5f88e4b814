#include "volume/projection.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

#include "volume/coefficients.h"

namespace brimwatch {
namespace {

DayPlan plan_for(double normal) {
  DayPlan plan;
  plan.normal = normal;
  plan.prior = std::log(normal) - 0.1;
  return plan;
}

DayVolume traded(int minutes, double per_minute) {
  DayVolume day;
  for (int m = 0; m < minutes; ++m) day.add(m, Shares{static_cast<std::int64_t>(per_minute * 1e6)});
  return day;
}

// Hour shares of the default: by 10:00, 11:00 ... 16:00, as published with the model's description.
TEST(DefaultCurve, HasTheHourSharesItWasMadeFrom) {
  const double wanted[] = {12.4, 15.1, 11.8, 9.3, 8.6, 10.0, 32.8};
  double before = 0;
  int hour = 0;
  for (const double minute : {30.0, 90.0, 150.0, 210.0, 270.0, 330.0, 390.0}) {
    const double done = default_curve().at(minute);
    EXPECT_NEAR(100 * (done - before), wanted[hour++], 0.1) << minute;
    before = done;
  }
}

TEST(DefaultCurve, KeepsTheClosingAuctionForTheClose) {
  EXPECT_NEAR(default_curve().at(389.9999), 0.89, 1e-4);
  EXPECT_EQ(default_curve().at(390), 1);
  EXPECT_EQ(default_curve().at(1e9), 1);
  EXPECT_EQ(default_curve().at(0), 0);
  EXPECT_EQ(default_curve().at(-5), 0);
  double before = 0;
  for (double minute = 0.1; minute < 391; minute += 0.1) {
    EXPECT_GT(default_curve().at(minute) + (minute > 390 ? 1 : 0), before);
    before = default_curve().at(minute);
  }
}

/// Shares of a quarter.
double shares(const DayVolume& day, std::size_t quarter) { return static_cast<double>(day.quarters[quarter]) / 1e6; }

TEST(DayVolume, SumsTheDayAndItsQuarters) {
  DayVolume day = traded(21, 100);  // minutes 0 to 20
  EXPECT_DOUBLE_EQ(shares(day.settled(), 0), 1500);
  EXPECT_DOUBLE_EQ(shares(day.settled(), 1), 600);
  EXPECT_DOUBLE_EQ(shares(day, 1), 500) << "the minute under way is not in it yet";
  day.add(3, Shares::whole(50));  // late
  EXPECT_DOUBLE_EQ(shares(day.settled(), 0), 1550);
  EXPECT_DOUBLE_EQ(day.so_far.as_double(), 2150);
  day.add(20, Shares::whole(-100));  // a cancel
  EXPECT_DOUBLE_EQ(shares(day.settled(), 1), 500);
  day.add(-7, Shares::whole(10));  // before the open: only in the sum
  EXPECT_DOUBLE_EQ(day.so_far.as_double(), 2060);
  EXPECT_DOUBLE_EQ(shares(day.settled(), 0), 1550);
  day.add(9 * 60, Shares::whole(7));  // longer than any session: the same
  EXPECT_DOUBLE_EQ(day.so_far.as_double(), 2067);
}

// Against a plain array of minutes, under random jumps forwards and backwards.
TEST(DayVolume, QuartersAgreeWithAPlainArray) {
  std::mt19937 random(7);
  DayVolume day;
  std::array<double, kQuarters> plain{};
  int minute = 0;
  for (int i = 0; i < 5000; ++i) {
    if (random() % 12 == 0) minute += static_cast<int>(random() % 20 == 0 ? random() % 40 : 1);
    minute = std::min(minute, 399);
    const int at = std::max(0, minute - static_cast<int>(random() % 14 == 0 ? random() % 60 : 0));
    const int size = static_cast<int>(random() % 1000) - 100;
    day.add(at, Shares::whole(size));
    plain[static_cast<std::size_t>(at / 15)] += size;
    const DayVolume settled = day.settled();
    for (std::size_t q = 0; q < kQuarters; ++q) ASSERT_NEAR(shares(settled, q), plain[q], 1e-6) << i;
  }
}

TEST(Projection, WithTheUsualPaceEndsNearThePrior) {
  const DayPlan plan = plan_for(1e6);
  DayVolume day;
  const double level = std::exp(plan.prior);
  for (int m = 0; m < 120; ++m) {
    day.add(m, Shares{static_cast<std::int64_t>(1e6 * level * (default_curve().at(m + 1) - default_curve().at(m)))});
  }
  const Projection p = project(plan, day, {.minutes = 120}, 1.4e6);
  EXPECT_NEAR(p.median / level, 1, 0.03);  // the prior is a mean; the errors lean to the right, so the median is less
  EXPECT_LT(p.median, level);
  EXPECT_LT(p.odds, 0.05);
}

TEST(Projection, AHeavyMorningRaisesTheOdds) {
  const DayPlan plan = plan_for(1.3e6);
  const Projection usual = project(plan, traded(45, 410e3 / 45), {.minutes = 45}, 1.82e6);
  const Projection heavy = project(plan, traded(45, 900e3 / 45), {.minutes = 45}, 1.82e6);
  EXPECT_GT(heavy.odds, 0.95);
  EXPECT_GT(heavy.odds, usual.odds);
  EXPECT_EQ(project(plan, traded(45, 2e6 / 45), {.minutes = 45}, 1.82e6).odds, 1);
}

TEST(Projection, TheDayIsFinalAtTheCloseUnlessThePrintIsDue) {
  const DayPlan plan = plan_for(1e6);
  const DayVolume day = traded(390, 2000);
  const Projection closed = project(plan, day, {.minutes = 390}, 1.4e6);
  EXPECT_EQ(closed.median, 780'000);
  EXPECT_EQ(closed.low, closed.high);
  EXPECT_EQ(closed.odds, 0);
  const Projection due = project(plan, day, {.minutes = 390, .auction_due = true}, 1.4e6);
  EXPECT_GT(due.median, 810'000);
  EXPECT_GT(due.odds, 0);
}

// A halt of an hour and a half: the day's clock stands at minute 298 while the session's stands at 388.
TEST(Projection, WhatAHaltTookDoesNotComeAnyMore) {
  DayPlan plan;
  plan.prior = std::log(1e6), plan.normal = 1e6;
  DayVolume day;
  for (std::int32_t minute = 0; minute <= 298; ++minute) day.add(minute, Shares::whole(2500));
  const double so_far = day.so_far.as_double();
  const auto at = [&](double minutes, double halted) {
    return project(plan, day, {.minutes = minutes, .halted = halted}, 1.4e6);
  };
  EXPECT_GT(at(298, 0).median, so_far * 1.25);
  EXPECT_LT(at(298, 90).median, so_far * 1.25);
  EXPECT_GT(at(298, 90).median, so_far);
  EXPECT_LT(at(298, 90).odds, at(298, 0).odds);
  // At the close it is the day, as without a halt; and nothing that a halt is said to be breaks that.
  EXPECT_EQ(at(300, 90).high, so_far);
  EXPECT_EQ(at(298, 1e9).high, so_far);
  EXPECT_EQ(at(298, -5).median, at(298, 0).median);
  EXPECT_EQ(at(298, std::nan("")).median, at(298, 0).median);
  // Then the closing print is still due.
  const Projection due = project(plan, day, {.minutes = 300, .auction_due = true, .halted = 90}, 1.4e6);
  EXPECT_GT(due.median, so_far * 1.02);
  EXPECT_LT(due.median, so_far * 1.25);
}

TEST(Projection, AnUnknownRatioWidensTheInterval) {
  DayPlan plan = plan_for(1e6);
  const Projection sharp = project(plan, traded(60, 4000), {.minutes = 60}, 1.4e6);
  plan.feed_ratio_sd = 0.3;
  const Projection blurred = project(plan, traded(60, 4000), {.minutes = 60}, 1.4e6);
  EXPECT_LT(blurred.low, sharp.low);
  EXPECT_GT(blurred.high, sharp.high);
}

TEST(Coefficients, AreContinuousAndMeetTheTable) {
  EXPECT_NEAR(coefficients_at(1, 2).shift, -.0904 + 2 * .2241, 1e-12);
  EXPECT_NEAR(coefficients_at(385, 0).spread, .295, 1e-12);
  EXPECT_NEAR(coefficients_at(75, 0).spread, .240, 1e-12);
  EXPECT_EQ(coefficients_at(10, -1).shift, 0);
  EXPECT_EQ(coefficients_at(60, 1.0).shift, 0);  // by then the volume has said it
  EXPECT_GT(coefficients_at(60, 3.0).shift, 0);
  for (double m = 0; m < 400; m += 0.25) {
    for (const double gap : {-1.0, 0.3, 4.0}) {
      EXPECT_NEAR(coefficients_at(m, gap).slope, coefficients_at(m + 0.01, gap).slope, 0.002) << m;
      EXPECT_NEAR(coefficients_at(m, gap).shift, coefficients_at(m + 0.01, gap).shift, 0.003) << m;
    }
  }
}

double odd_number(std::mt19937& random) {
  constexpr double kOdd[] = {0, -1, 1, 1e-300, 1e300, -1e300, 15, 389.99, 390, 391, 12345};
  const std::size_t pick = random() % 14;
  if (pick == 11) return std::nan("");
  if (pick == 12) return std::numeric_limits<double>::infinity();
  if (pick == 13) return std::uniform_real_distribution<double>(0, 400)(random);
  return kOdd[pick];
}

TEST(Projection, HoldsItsPromisesForAnyInput) {
  std::mt19937 random(11);
  for (int i = 0; i < 200'000; ++i) {
    DayPlan plan = plan_for(std::exp(std::uniform_real_distribution<double>(2, 24)(random)));
    if (random() % 8 == 0) plan.prior = 0;
    if (random() % 5 == 0) plan.session_minutes = odd_number(random);
    if (random() % 3 == 0) plan.gap = odd_number(random);
    plan.expiry = random() % 2;
    plan.month_end = random() % 2;
    DayVolume day;
    const int trades = static_cast<int>(random() % 5);
    for (int t = 0; t < trades; ++t) {
      day.add(static_cast<int>(random() % 400) - 5,
              Shares{static_cast<std::int64_t>(random() % 2'000'000'000'000) - 200'000'000'000});
    }
    plan.weekday = static_cast<std::uint8_t>(random() % 9);
    if (random() % 3 == 0) plan.thin = std::uniform_real_distribution<double>(0, 1)(random);
    const bool doubtful = random() % 4 == 0;
    if (doubtful) plan.feed_ratio_sd = std::fabs(odd_number(random));
    const Moment moment{.minutes = odd_number(random),
                        .missed_from = odd_number(random),
                        .missed_to = odd_number(random),
                        .missed_share = odd_number(random),
                        .since_crossing = odd_number(random),
                        .lift = std::uniform_real_distribution<double>(0, .1)(random),
                        .recent_known = random() % 2 == 0,
                        .auction_due = random() % 2 == 0,
                        .opening_missed = random() % 2 == 0};
    const Projection p = project(plan, day, moment, odd_number(random));
    ASSERT_TRUE(std::isfinite(p.median) && std::isfinite(p.low) && std::isfinite(p.high)) << i;
    ASSERT_TRUE(doubtful || p.low >= day.so_far.as_double()) << i;
    ASSERT_LE(p.low, p.median) << i;
    ASSERT_LE(p.median, p.high) << i;
    ASSERT_TRUE(p.odds >= 0 && p.odds <= 1) << i;
  }
}

TEST(Gap, IsInDeviationsAndASplitIsNone) {
  EXPECT_NEAR(opening_gap(110, 100, 0.02), std::log(1.1) / 0.02, 1e-12);
  EXPECT_EQ(opening_gap(50, 100, 0.02), -1);
  EXPECT_EQ(opening_gap(0, 100, 0.02), -1);
  EXPECT_EQ(opening_gap(100, 100, 0), -1);
}

}  // namespace
}  // namespace brimwatch
