// Grading at crossings: which bar it is, what is known there, and the figures by their definitions.
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <random>

#include "volume/grading/crossing_scores.h"
#include "volume/invented_panel.h"

namespace brimwatch {
namespace {

const Calendar& exchange() {
  static const auto calendar = Calendar::load("XNYS", {});
  return **calendar;
}

/// Minute bars of an invented stock at a price that stands, but for what `price_at` says of a day and a minute since the
/// open.
BarSeries priced(std::uint32_t seed, int days, const std::function<float(int day, int minute)>& price_at) {
  auto rows = test::invent_minutes({.seed = seed, .days = days}, exchange());
  int day = -1;
  std::int32_t date = 0;
  for (BarRow& row : rows) {
    if (row.day != date) ++day, date = row.day;
    row.open = row.close = row.high = price_at(day, row.minute - 570);
  }
  return assemble_bars("KLVN", std::move(rows), {.bar_minutes = 1}, exchange());
}

std::vector<GradedCrossing> crossings_of(const BarSeries& series, int sessions = 50) {
  std::vector<GradedCrossing> all;
  walk_crossings(series, {}, sessions, [&](const WalkedDay&, const GradedCrossing& one) { all.push_back(one); });
  return all;
}

TEST(Crossings, AreTheFirstBarAtTheOldHigh) {
  // Down a cent a day from forty, and one minute of day 45 at 45: the high. Day 55 comes to it in minute 100, and again
  // later.
  const auto price = [](int day, int minute) -> float {
    if (day == 45 && minute == 30) return 45;
    if (day == 55 && (minute == 100 || minute == 200)) return 45;
    return 40 - .01F * static_cast<float>(day);
  };
  const BarSeries series = priced(3, 80, price);
  const auto found = crossings_of(series);
  ASSERT_EQ(found.size(), 1U) << "day 45 has no fifty full sessions before it";
  const GradedCrossing& one = found[0];
  EXPECT_EQ(one.day.days, series.days[55].day);
  EXPECT_EQ(one.graded.minute, 101) << "the end of its bar";
  EXPECT_EQ(one.age.sessions, 10);
  EXPECT_TRUE(one.age.of_50);
  EXPECT_NEAR(one.graded.forecast.so_far, volume_by(series.days[55], 101), .01);
  EXPECT_EQ(one.graded.total, series.days[55].total);
  EXPECT_NEAR(one.normal * kWantedLevel, one.graded.wanted, 1e-3);
}

TEST(Crossings, OfAnotherNumberOfSessions) {
  const auto price = [](int day, int minute) -> float {
    return day == 40 ? 50 : minute == 10 && day == 70 ? 41 : 40 - .01F * static_cast<float>(day);
  };
  EXPECT_EQ(crossings_of(priced(3, 80, price), 50).size(), 0U) << "forty days ago it was at 50";
  EXPECT_EQ(crossings_of(priced(3, 80, price), 20).size(), 1U);
}

// What comes on the day after the crossing, and on later days, changes no forecast.
TEST(Crossings, LookAtNothingThatComesLater) {
  std::mt19937 random(5);
  std::map<std::pair<int, int>, float> prices;
  float price = 40;
  const auto walk = [&](int day, int minute) {
    float& here = prices[{day, minute}];
    if (here == 0) here = price *= 1 + (static_cast<float>(random() % 2001) - 1000) / 1e6F;
    return here;
  };
  const BarSeries whole = priced(7, 120, walk);
  BarSeries cut = whole;
  for (SessionBars& day : cut.days) {
    for (BarVolume& bar : day.bars) {
      if (day.day == whole.days[100].day && bar.minute >= 240) bar.volume *= 3;
    }
  }
  cut.days.resize(101);
  cut.days[100].total = whole.days[100].total;  // knots are learned from it only afterwards
  const auto a = crossings_of(whole, 20), b = crossings_of(cut, 20);
  ASSERT_GT(b.size(), 5U);
  for (std::size_t i = 0; i < b.size(); ++i) {
    ASSERT_EQ(a[i].day, b[i].day);
    EXPECT_TRUE(b[i].graded.minute >= 240 || a[i].odds == b[i].odds) << i;
  }
}

TEST(Crossings, BarsWithoutPricesHaveNone) {
  EXPECT_TRUE(crossings_of(priced(3, 80, [](int, int) { return 0.0F; }), 20).empty());
}

GradedCrossing crossing(double odds, bool came, double minute, int age) {
  GradedCrossing one;
  one.odds = odds;
  one.graded.minute = minute;
  one.graded.wanted = 1.4e6, one.graded.total = came ? 2e6 : 1e6;
  one.graded.linear = odds > .6 ? 3e6 : 1e6, one.graded.profile = 1.4e6;
  one.age.sessions = age;
  one.normal = 1e6;
  one.day = Date{20'000 + age};
  return one;
}

TEST(CrossingScores, AreWhatTheirDefinitionsSay) {
  const std::vector<GradedCrossing> all = {crossing(.9, true, 1, 1),  crossing(.8, false, 3, 6),
                                           crossing(.6, true, 3, 9),  crossing(.2, false, 40, 2),
                                           crossing(0, true, 300, 5), crossing(.1, false, 390, 6)};
  const CrossingScores scores = score_crossings(all);
  EXPECT_EQ(scores.all.count, 6);
  EXPECT_NEAR(scores.all.said, 2.6 / 6, 1e-12);
  EXPECT_NEAR(scores.all.came, .5, 1e-12);
  const double brier = (.01 + .64 + .16 + .04 + 1 + .01) / 6;
  EXPECT_NEAR(scores.all.brier_skill, 1 - brier / .25, 1e-12);
  const double losses = -std::log(.9) - std::log(.2) - std::log(.6) - std::log(.8) - std::log(1e-6) - std::log(.9);
  EXPECT_NEAR(scores.all.log_loss, losses / 6, 1e-9);
  EXPECT_NEAR(scores.all.precision_50, 2.0 / 3, 1e-12);
  EXPECT_NEAR(scores.all.recall_50, 2.0 / 3, 1e-12);
  EXPECT_NEAR(scores.all.precision_70, .5, 1e-12);
  EXPECT_NEAR(scores.all.recall_70, 1.0 / 3, 1e-12);
  EXPECT_NEAR(scores.all.auc, 5.0 / 9, 1e-12) << "of nine pairs of one that came and one that did not";
  ASSERT_EQ(scores.by_minute.size(), 4U);
  EXPECT_EQ(scores.by_minute[0].to, 1);
  EXPECT_EQ(scores.by_minute[1].score.count, 2);
  EXPECT_EQ(scores.by_minute[3].from, 195);
  EXPECT_EQ(scores.by_minute[3].score.count, 2);
  ASSERT_EQ(scores.by_age.size(), 3U);
  EXPECT_EQ(scores.by_age[1].score.count, 2) << "two to five sessions";
  ASSERT_EQ(scores.by_gap.size(), 1U);
  EXPECT_LE(scores.by_gap[0].to, 0) << "not known";
  EXPECT_NEAR(scores.linear.precision, .5, 1e-12);
  EXPECT_NEAR(scores.profile.recall, 1, 1e-12);
  EXPECT_EQ(scores.reliability.count, 6);
}

TEST(CrossingScores, OfNothingAreEmpty) {
  const CrossingScores scores = score_crossings({});
  EXPECT_EQ(scores.all.count, 0);
  EXPECT_TRUE(scores.by_minute.empty());
  EXPECT_EQ(scores.linear.precision, 0);
}

}  // namespace
}  // namespace brimwatch
