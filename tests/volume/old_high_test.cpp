// How old the high is that a pivot stands at, from daily bars and from the watch's own days.
#include "volume/old_high.h"

#include <gtest/gtest.h>

#include "support/new_york.h"

namespace brimwatch {
namespace {

using test::new_york;

const Date kToday = Date::of(2026, 12, 7);  // a Monday

Price at(double price) { return Price{static_cast<std::int64_t>(price * 1e6 + .5)}; }

/// Daily bars with these highs, the last `behind` + 1 sessions before today.
std::vector<DailyBar> bars(const std::vector<double>& highs, int behind = 0) {
  std::vector<DailyBar> out;
  Date day = kToday;
  for (int i = 0; i <= behind; ++i) day = new_york().before(day)->day;
  for (auto high = highs.rbegin(); high != highs.rend(); ++high, day = new_york().before(day)->day)
    out.insert(out.begin(), {day, {}, at(*high), {}, at(*high), 1e6});
  return out;
}

/// So many sessions at 40, then `newest`.
std::vector<double> flat(std::size_t count, const std::vector<double>& newest = {}) {
  std::vector<double> highs(count - newest.size(), 40);
  highs.insert(highs.end(), newest.begin(), newest.end());
  return highs;
}

double lift(const std::vector<DailyBar>& daily, double pivot, int untouched = 0) {
  const auto highs = recent_highs(daily, kToday, new_york());
  return crossing_lift(age_of_high(highs.get(), untouched, at(pivot)));
}

TEST(OldHigh, OfFiftySessionsCountsMost) {
  EXPECT_EQ(lift(bars(flat(50, {45, 44, 44, 44, 44, 44})), 45), .06) << "six sessions ago";
  EXPECT_EQ(lift(bars(flat(50, {45, 44, 44, 44, 44})), 45), .04);
  EXPECT_EQ(lift(bars(flat(50, {45, 44})), 45), .04);
  EXPECT_EQ(lift(bars(flat(50, {44, 45})), 45), 0) << "yesterday's high";
  EXPECT_EQ(lift(bars(flat(50)), 45), .06) << "never reached";
  EXPECT_EQ(lift(bars(flat(50, {45.01})), 45), 0);
}

TEST(OldHigh, OfTwentyOnlyCountsLess) {
  auto highs = flat(50, {45, 44, 44});
  highs[10] = 60;
  EXPECT_EQ(lift(bars(highs), 45), .02);
  highs[40] = 60;
  EXPECT_EQ(lift(bars(highs), 45), 0) << "no high of twenty either";
  EXPECT_EQ(lift(bars(flat(30)), 45), .02) << "of so few bars no more is known";
}

TEST(OldHigh, IsToldFromTheWatchsOwnDaysWithoutBars) {
  EXPECT_EQ(lift({}, 45, 0), 0) << "not known takes the cautious value";
  EXPECT_EQ(lift({}, 45, 1), 0);
  EXPECT_EQ(lift({}, 45, 2), .04);
  EXPECT_EQ(lift({}, 45, 40), .04);
  EXPECT_EQ(lift(bars(flat(10)), 45, 2), .04) << "a handful of bars is none";
  EXPECT_EQ(recent_highs({}, kToday, new_york()), nullptr);
  const std::vector<DailyBar> volumes_only = {{kToday - 3, {}, {}, {}, {}, 1e6}};
  EXPECT_EQ(recent_highs(volumes_only, kToday, new_york()), nullptr);
}

TEST(OldHigh, BarsThatEndEarlierAreGoneOnFromByTheWatchsDays) {
  const auto daily = bars(flat(50, {45, 44}), 4);
  EXPECT_EQ(recent_highs(daily, kToday, new_york())->behind, 4);
  EXPECT_EQ(lift(daily, 45, 0), 0) << "four sessions of which nothing is known";
  EXPECT_EQ(lift(daily, 45, 3), .04) << "as without bars";
  EXPECT_EQ(lift(daily, 45, 4), .06) << "reached six sessions ago, and not since";
}

TEST(OldHigh, BarsOfTodayAndLaterSayNothing) {
  auto daily = bars(flat(50));
  daily.push_back({kToday, {}, at(99), {}, at(99), 1e6});
  EXPECT_EQ(lift(daily, 45), .06);
}

TEST(OldHigh, SessionsAreCountedByTheCalendar) {
  EXPECT_EQ(sessions_from({}, kToday, new_york()), 0);
  EXPECT_EQ(sessions_from(kToday, kToday, new_york()), 0);
  EXPECT_EQ(sessions_from(Date::of(2026, 12, 4), kToday, new_york()), 1) << "a weekend between";
  EXPECT_EQ(sessions_from(Date::of(2026, 11, 25), kToday, new_york()), 7) << "a holiday and a weekend";
  EXPECT_EQ(sessions_from(Date::of(2020, 1, 2), kToday, new_york()), 60);
}

}  // namespace
}  // namespace brimwatch
