#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <new>

#include "support/new_york.h"
#include "volume/history.h"
#include "volume/learning/learning.h"

namespace {
std::size_t allocations = 0;
}  // namespace

// Counts every allocation of this test program.
__attribute__((noinline)) void* operator new(std::size_t size) {
  ++allocations;
  if (void* room = std::malloc(size > 0 ? size : 1)) return room;
  std::abort();
}
__attribute__((noinline)) void* operator new(std::size_t size, const std::nothrow_t&) noexcept {
  return operator new(size);
}
__attribute__((noinline)) void operator delete(void* room) noexcept { std::free(room); }
__attribute__((noinline)) void operator delete(void* room, std::size_t) noexcept { std::free(room); }

namespace brimwatch {
namespace {

using test::new_york;

/// `count` sessions before `day`, a million shares each; half days 300k.
std::vector<DailyBar> sessions_before(Date day, int count) {
  std::vector<DailyBar> bars;
  const Session* session = new_york().before(day);
  for (int i = 0; i < count; ++i, session = new_york().before(session->day)) {
    const Price close = Price{(50 + i % 2) * kMicrosPerUnit};
    bars.insert(bars.begin(), {session->day, close, close, close, close, session->half_day ? 3e5 : 1e6});
  }
  return bars;
}

TEST(Plan, NormalVolumeIsTheMeanOfFiftyFullSessions) {
  const Date day = *parse_date("2026-12-07");  // a half day, 2026-11-27, lies before it
  int used = 0;
  EXPECT_DOUBLE_EQ(normal_volume(sessions_before(day, 80), day, new_york(), &used), 1e6);
  EXPECT_EQ(used, 50);
  EXPECT_DOUBLE_EQ(normal_volume(sessions_before(day, 80), *parse_date("2020-01-02"), new_york(), &used), 0);
  EXPECT_EQ(used, 0);
}

TEST(Plan, SaysWhenTheLastCloseIsNotOfTheSessionBefore) {
  const Date day = *parse_date("2026-11-30");  // a Monday; Friday the 27th was a half day
  auto bars = sessions_before(day, 60);
  const auto plan = [&] { return make_plan(*new_york().on(day), bars, nullptr, std::nullopt, new_york()); };
  EXPECT_FALSE(plan().close_is_old);
  EXPECT_EQ(plan().previous_close, bars.back().close.as_double());
  bars.pop_back();
  EXPECT_TRUE(plan().close_is_old) << "Wednesday's, over a holiday and a half day";
  EXPECT_EQ(plan().previous_close, bars.back().close.as_double()) << "for the guard and for splits it still serves";
  bars.clear();
  EXPECT_FALSE(plan().close_is_old);
  EXPECT_EQ(plan().previous_close, 0);
}

TEST(Plan, NothingOfTheDayItselfOrLaterGoesIn) {
  const Date day = *parse_date("2026-12-07");
  auto bars = sessions_before(day, 60);
  const DayPlan before = make_plan(*new_york().on(day), bars, nullptr, std::nullopt, new_york());
  bars.push_back({day, 90, 90, 90, 90, 9e9});
  bars.push_back({day + 1, 90, 90, 90, 90, 9e9});
  const DayPlan after = make_plan(*new_york().on(day), bars, nullptr, std::nullopt, new_york());
  EXPECT_EQ(before.prior, after.prior);
  EXPECT_EQ(before.normal, after.normal);
  EXPECT_EQ(before.daily_sd, after.daily_sd);
  EXPECT_GT(after.daily_sd, 0);
}

TEST(Plan, HalfDaysExpiryAndMonthEndComeFromTheCalendar) {
  const auto plan = [](const char* text) {
    return make_plan(*new_york().on(*parse_date(text)), sessions_before(*parse_date(text), 60), nullptr, std::nullopt,
                     new_york());
  };
  EXPECT_TRUE(plan("2026-11-27").half_day);
  EXPECT_NEAR(plan("2026-11-27").prior - plan("2026-11-25").prior, -0.75, 1e-9);
  EXPECT_NEAR(plan("2026-11-27").normal / plan("2026-11-25").normal, std::exp(-0.75), 1e-9);
  EXPECT_NEAR(plan("2026-11-27").scale, 1.2, 1e-9);
  EXPECT_TRUE(plan("2026-12-18").expiry);
  EXPECT_FALSE(plan("2026-11-20").expiry);
  EXPECT_TRUE(plan("2026-11-30").month_end);
  EXPECT_FALSE(plan("2026-11-27").month_end);
}

// Six years of half days at 60 % of a full day, in a stock that is usual in all else: their level moves a third of the
// way.
TEST(Plan, AHalfDaysLevelLearnsFromTheSymbolsOwn) {
  const Date day = *parse_date("2026-11-27");
  auto bars = sessions_before(day, 1500);
  for (DailyBar& bar : bars) {
    if (new_york().on(bar.day)->half_day) bar.volume = 6e5;
  }
  const double level = half_day_level(*new_york().on(day), bars, new_york());
  EXPECT_GT(level, -0.75 + 0.05);
  EXPECT_LT(level, std::log(0.6));
  const double before = half_day_level(*new_york().on(day), {}, new_york());
  EXPECT_NEAR(before, -0.75, 1e-12);
  bars.push_back({day, {}, {}, {}, {}, 9e9});  // the day itself and what comes later say nothing
  EXPECT_EQ(half_day_level(*new_york().on(day), bars, new_york()), level);
}

TEST(Plan, AGivenNormalVolumeWinsAndIsAPriorWhereThereIsNoHistory) {
  const Date day = *parse_date("2026-12-07");
  const DayPlan alone = make_plan(*new_york().on(day), {}, nullptr, Shares::whole(2'000'000), new_york());
  EXPECT_NEAR(alone.prior, std::log(2e6) - 0.10, 1e-12);
  EXPECT_EQ(alone.normal, 2e6);
  const DayPlan both =
      make_plan(*new_york().on(day), sessions_before(day, 60), nullptr, Shares::whole(2'000'000), new_york());
  EXPECT_EQ(both.normal, 2e6);
  EXPECT_NEAR(both.prior, std::log(1e6) - 0.009, 1e-9);
  EXPECT_EQ(make_plan(*new_york().on(day), {}, nullptr, std::nullopt, new_york()).normal, 0);
}

TEST(Plan, AThinStockAndAShortHistoryAreWider) {
  const Date day = *parse_date("2026-12-07");
  EXPECT_NEAR(make_plan(*new_york().on(day), sessions_before(day, 8), nullptr, std::nullopt, new_york()).scale,
              std::sqrt(1 + 2.0 / 7), 0.03);  // one of the eight is a half day
  EXPECT_NEAR(make_plan(*new_york().on(day), sessions_before(day, 60), nullptr, Shares::whole(150'000), new_york()).scale,
              1.5, 1e-9);
}

TEST(Plan, APartThatDiffersFromDayToDayIsNotJudged) {
  const Date day = *parse_date("2026-12-07");
  const auto plan_with = [&](double wide) {
    Learned learned;
    for (int i = 0; i < 20; ++i) learn_ratio(learned, 5 * std::exp(wide * (i % 5 - 2)), 100);
    return make_plan(*new_york().on(day), sessions_before(day, 60), std::make_shared<Learned>(learned), std::nullopt,
                     new_york());
  };
  EXPECT_FALSE(plan_with(.2).ratio_unsteady);
  EXPECT_TRUE(plan_with(.2).can_judge());
  EXPECT_GT(plan_with(.4).feed_ratio_sd, .5);
  EXPECT_TRUE(plan_with(.4).ratio_unsteady);
  EXPECT_FALSE(plan_with(.4).can_judge());
}

// A feed that carries a part of the tape: not judged until five days say how large a part, then in shares of the feed.
TEST(Plan, TheFeedsPartOfTheTapeIsRefusedThenUsed) {
  const Date day = *parse_date("2026-12-07");
  Learned learned;
  for (int i = 0; i < 4; ++i) learn_ratio(learned, 30, 100);
  const auto plan = [&] {
    return make_plan(*new_york().on(day), sessions_before(day, 60), std::make_shared<Learned>(learned), std::nullopt,
                     new_york());
  };
  EXPECT_TRUE(plan().ratio_unknown);
  learn_ratio(learned, 33, 100);
  EXPECT_FALSE(plan().ratio_unknown);
  EXPECT_NEAR(plan().normal, 3e5, 1);
  EXPECT_NEAR(plan().prior, std::log(3e5) - 0.009, 1e-9);
  Learned whole;
  learn_ratio(whole, 98, 100);
  EXPECT_FALSE(
      make_plan(*new_york().on(day), sessions_before(day, 60), std::make_shared<Learned>(whole), std::nullopt, new_york())
          .ratio_unknown);
}

// The official bar of a day comes later than the day: until then the feed's own days, held against the official ones
// before them, tell a feed that carries a thirtieth of the tape.
TEST(Plan, AFeedThatIsPlainlyAPartIsNotJudgedBeforeTheFirstOfficialDay) {
  const Date day = *parse_date("2026-12-08");
  const auto daily = sessions_before(*parse_date("2026-12-07"), 60);
  const auto refused = [&](double shares) {
    const FeedDay one{*parse_date("2026-12-07"), shares, 1, false};
    Learned learned;
    learn_ratios(learned, std::span(&one, 1), daily);
    return make_plan(*new_york().on(day), daily, std::make_shared<Learned>(learned), std::nullopt, new_york())
        .ratio_unknown;
  };
  EXPECT_TRUE(refused(35e3));
  EXPECT_FALSE(refused(0.5e6));  // a quiet day
  EXPECT_FALSE(refused(2.5e6));  // a heavy one
  Learned learned;
  learned.ratio_doubt = true;
  learn_ratio(learned, 99, 100);
  EXPECT_FALSE(learned.ratio_doubt);
}

TEST(Projection, AllocatesNothing) {
  DayPlan plan;
  plan.prior = std::log(1e6);
  plan.normal = 1.1e6;
  DayVolume day;
  (void)project(plan, day, {.minutes = 1}, 1e6);  // the default curve is made once
  const std::size_t before = allocations;
  double sum = 0;
  for (int minute = 0; minute < 390; ++minute) {
    day.add(minute, Shares::whole(2'500));
    sum += project(plan, day, {.minutes = minute + 1.0, .since_crossing = 0, .lift = .06}, 1.4e6).odds;
    sum += project_quantile(plan, day, {.minutes = minute + 0.5}, 0.2);
  }
  EXPECT_EQ(allocations, before);
  EXPECT_GT(sum, 0);
}

}  // namespace
}  // namespace brimwatch
