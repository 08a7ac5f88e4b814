// The terms beside the table of coefficients: their values at the points where they were measured, and what they do to a
// projection.
#include "volume/circumstances.h"

#include <gtest/gtest.h>

#include <cmath>

#include "volume/day_total.h"
#include "volume/students_t.h"

namespace brimwatch {
namespace {

DayPlan plain() {
  DayPlan plan;
  plan.normal = 1e6;
  plan.prior = std::log(1e6);
  return plan;
}

double shift(const DayPlan& plan, double minute, double surprise) { return circumstance_shift(plan, minute, surprise); }

/// Without bend.
double shift_of(const DayPlan& plan, double minute, double surprise) {
  return shift(plan, minute, surprise) - shift(plain(), minute, surprise);
}

TEST(Thinness, IsByTheLogarithmOfANormalDay) {
  EXPECT_EQ(thinness(400'000, 10), 0);
  EXPECT_EQ(thinness(5e6, 10), 0);
  EXPECT_NEAR(thinness(200'000, 10), .5, 1e-12);
  EXPECT_NEAR(thinness(100'000, 10), 1, 1e-12);
  EXPECT_EQ(thinness(3'000, 10), 1);
  EXPECT_EQ(thinness(0, 10), 0) << "not known";
  EXPECT_NEAR(thinness(100'000, 0), 1, 1e-12) << "without a price by its shares alone";
  EXPECT_EQ(thinness(160'000, 2000), 0) << "a dear stock of few shares is no thin one";
}

TEST(Thinness, TellsHowWideErrorsBegin) {
  EXPECT_EQ(first_kappa(10'000), 1.9);
  EXPECT_EQ(first_kappa(50'000), 1.65);
  EXPECT_EQ(first_kappa(300'000), 1.5);
  EXPECT_EQ(first_kappa(2e6), 1);
  EXPECT_EQ(first_kappa(0), 1);
}

TEST(Circumstances, AGapGivesWayToTheVolume) {
  DayPlan gapped = plain();
  gapped.gap = 3;  // two deviations beyond the first
  EXPECT_NEAR(shift_of(gapped, 5, 1), .06 * 2 * .3, 1e-12);
  EXPECT_NEAR(shift_of(gapped, 5, -5), .06 * 2 * -1.7, 1e-12) << "at most one below";
  EXPECT_NEAR(shift_of(gapped, 60, 5), .04 * 2 * 1.3, 1e-12) << "at most two above";
  EXPECT_EQ(shift_of(gapped, 300, 1), 0);
  EXPECT_NEAR(shift_of(gapped, .5, 0), .5 * .06 * 2 * -.7, 1e-12) << "the first minute fades in";
  gapped.gap = 30;
  EXPECT_NEAR(shift_of(gapped, 5, 1), .06 * 4 * .3, 1e-12) << "five deviations are the most that count";
  gapped.gap = .9;
  EXPECT_EQ(shift_of(gapped, 5, 1), 0);
  EXPECT_EQ(gap_widening(gapped, 0), 1);
  gapped.gap = -1;
  EXPECT_EQ(gap_widening(gapped, 0), 1) << "not known";
  gapped.gap = 3;
  EXPECT_NEAR(gap_widening(gapped, 0), 1.5, 1e-12);
  EXPECT_NEAR(gap_widening(gapped, 5), 1.16, 1e-12);
  EXPECT_EQ(gap_widening(gapped, 60), 1);
}

TEST(Circumstances, TheBendIsForLiquidStocks) {
  EXPECT_NEAR(shift(plain(), 60, 1), .06 - .02, 1e-12);
  EXPECT_NEAR(shift(plain(), 60, -1), .05 - .02, 1e-12);
  EXPECT_NEAR(shift(plain(), 120, 9), .09 - .02, 1e-12);
  EXPECT_NEAR(shift(plain(), 5, 1), .5 * .04, 1e-12);
  EXPECT_EQ(shift(plain(), 0, 1), 0);
}

TEST(Circumstances, AThinStocksPaceSaysLess) {
  DayPlan thin = plain();
  thin.thin = 1;
  EXPECT_NEAR(shift(thin, 15, 2), -.15 * 2, 1e-12);
  EXPECT_NEAR(shift(thin, 15, -2), .13 * 2, 1e-12);
  EXPECT_NEAR(shift(thin, 10, 1), -.115, 1e-12) << "linear between the points";
  EXPECT_NEAR(shift(thin, 300, 1), 0, 1e-12);
  EXPECT_NEAR(shift(thin, 300, -1), .16, 1e-12);
  EXPECT_NEAR(shift(thin, 60, 9), -.12 * 3, 1e-12);
}

TEST(Circumstances, MondaysAreLight) {
  DayPlan day = plain();
  day.weekday = 1;
  EXPECT_NEAR(shift_of(day, 30, 0), -.05, 1e-12);
  EXPECT_NEAR(shift_of(day, 195, 0), -.05 * .25, 1e-12);
  EXPECT_EQ(shift_of(day, 300, 0), 0);
  day.weekday = 3;
  EXPECT_NEAR(shift_of(day, 30, 0), .025, 1e-12);
  day.weekday = 7;
  EXPECT_EQ(shift_of(day, 30, 0), 0) << "not known";
}

TEST(Crossing, BringsVolumeThatFades) {
  EXPECT_EQ(crossing_shift(.06, -1, .5), 0) << "not crossed";
  EXPECT_EQ(crossing_shift(.06, std::nan(""), .5), 0);
  EXPECT_NEAR(crossing_shift(.06, 0, .96), std::log(1 + .06 / .96), 1e-12);
  EXPECT_NEAR(crossing_shift(.06, 8, .30), std::log(1 + .03 / .30), 1e-12)
      << "late in the day it is more of what is left";
  EXPECT_EQ(crossing_shift(.06, 61, .5), 0);
  EXPECT_EQ(crossing_shift(0, 8, .5), 0);
  EXPECT_NEAR(crossing_shift(-.05, 0, .5), std::log(.9), 1e-12) << "own crossings may say less";
  EXPECT_NEAR(crossing_shift(-.05, 0, .02), std::log(.5), 1e-12) << "late in the day no lift takes all away";
}

// The projected volume and its interval move with the odds.
TEST(Crossing, MovesVolumeIntervalAndOddsTogether) {
  DayVolume day;
  for (int minute = 0; minute < 45; ++minute) day.add(minute, Shares::whole(9'000));
  const Projection before = project(plain(), day, {.minutes = 45}, 1.4e6);
  const Projection after = project(plain(), day, {.minutes = 45, .since_crossing = 0, .lift = .06}, 1.4e6);
  const double left = 1 - default_curve().at(45);
  const double to_come = before.median - day.so_far.as_double();
  EXPECT_NEAR(after.median - before.median, to_come * .06 / left, 1);
  EXPECT_GT(after.low, before.low);
  EXPECT_GT(after.high, before.high);
  EXPECT_GT(after.odds, before.odds);
}

TEST(Opening, NoGapAloneIsCertain) {
  DayPlan plan = plain();
  plan.gap = 6;
  const auto odds = [&](double minutes, std::int64_t traded) {
    DayVolume day;
    if (traded > 0) day.add(0, Shares::whole(traded));
    return project(plan, day, {.minutes = minutes}, 1.4e6).odds;
  };
  EXPECT_EQ(odds(.2, 300'000), .97);
  EXPECT_GT(odds(1, 300'000), .97);
  EXPECT_EQ(odds(.2, 1'500'000), 1) << "what has traded is certain";
}

TEST(Opening, APrintThatWasNotHeardIsNotExpected) {
  DayVolume day;
  for (int minute = 0; minute < 6; ++minute) day.add(minute, Shares::whole(4'000));
  const Projection heard = project(plain(), day, {.minutes = 6}, 1.4e6);
  const Projection missed = project(plain(), day, {.minutes = 6, .opening_missed = true}, 1.4e6);
  EXPECT_GT(missed.median, heard.median);
  EXPECT_GT(missed.odds, heard.odds);
  EXPECT_NEAR(opening_print_share(.3), .015, 1e-12);
  EXPECT_NEAR(opening_print_share(.01), .005, 1e-12) << "half of what was expected at the most";
}

/// The whole day's total in the tape's shares is in doubt where the feed's part of it is.
class Partial : public testing::Test {
 protected:
  Partial() { plan_.feed_ratio_sd = .2; }
  DayPlan plan_ = plain();
};

TEST_F(Partial, FollowsTheFormula) {
  const RemainderForecast forecast{900'000, std::log(300'000), .25, false};
  const double drawn = .5 * .04 / (.04 + .16), part = .25;
  const double middle = plan_.prior + (1 - drawn) * (std::log(1.2e6) - plan_.prior);
  const double spread = std::sqrt((part * .25 * part * .25 + .04) * (1 - drawn));
  const DayTotal total(plan_, forecast);
  EXPECT_NEAR(total.at(0), std::exp(middle), 1e-3);
  EXPECT_NEAR(total.at(-1.4), std::exp(middle - 1.4 * spread), 1e-3);
  EXPECT_NEAR(total.odds(1.4e6), 1 - skewed_t8_cdf((std::log(1.4e6) - middle) / spread), 1e-12);
  EXPECT_LT(total.odds(850'000), 1) << "what the feed has carried may be more than its usual part";
  EXPECT_GT(total.odds(850'000), .9);
}

TEST_F(Partial, TheDayItselfStaysInDoubt) {
  const RemainderForecast closed{1.5e6, 0, 0, true};
  const DayTotal total(plan_, closed);
  EXPECT_GT(total.odds(1.4e6), .5);
  EXPECT_LT(total.odds(1.4e6), .9);
  plan_.feed_ratio_sd = 0;
  EXPECT_EQ(DayTotal(plan_, closed).odds(1.4e6), 1);
  EXPECT_EQ(DayTotal(plan_, closed).at(-1), 1.5e6);
}

}  // namespace
}  // namespace brimwatch
