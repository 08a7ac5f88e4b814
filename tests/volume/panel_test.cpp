// The projection on invented minute bars: are its intervals and odds right, does it look ahead, does it stand gaps.
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <random>

#include "support/new_york.h"
#include "volume/grading/score.h"
#include "volume/grading/walk.h"
#include "volume/invented_panel.h"
#include "volume/learning/bar_decoder.h"

namespace brimwatch {
namespace {

using test::InventedStock;
using test::new_york;

const std::vector<double> kMinutes = {15, 30, 60, 90, 120, 195, 300};

BarSeries series_of(std::vector<BarRow> rows, BarReading reading = {}) {
  return assemble_bars("KLVN", std::move(rows), reading, new_york());
}

BarSeries invented(const InventedStock& stock) { return series_of(test::invent_minutes(stock, new_york())); }

std::vector<GradedForecast> forecasts(const BarSeries& series, const WalkOptions& options = {.minutes = kMinutes}) {
  std::vector<GradedForecast> all;
  walk_days(series, options, [&](const SessionBars&, const GradedForecast& one) { all.push_back(one); });
  return all;
}

// Stocks of three tempers, none like the ones that the coefficients come from: the intervals fit each after a while,
// since the width is learned.
TEST(InventedPanel, IntervalsHoldWhatTheySayForCalmAndWildStocks) {
  struct Temper {
    double level, course, lumps;
  };
  for (const Temper temper : {Temper{0.10, 0.30, 8}, {0.15, 0.40, 4}, {0.25, 0.50, 1}}) {
    Scores scores;
    for (std::uint32_t seed = 1; seed <= 3; ++seed) {
      const BarSeries series = invented(
          {.seed = seed, .days = 450, .level_sd = temper.level, .course_sd = temper.course, .lumps = temper.lumps});
      for (const GradedForecast& one : forecasts(series)) scores.add(one);
    }
    for (const ScorePoint& point : scores.points()) {
      EXPECT_GT(point.days, 1000);
      EXPECT_NEAR(point.cover80, 0.80, 0.07) << temper.level << " at " << point.minute;
      EXPECT_NEAR(point.cover90, 0.90, 0.05) << temper.level << " at " << point.minute;
      EXPECT_LT(point.mape, point.linear_mape) << temper.level << " at " << point.minute;
      EXPECT_LT(point.mape, point.profile_mape) << temper.level << " at " << point.minute;
    }
  }
}

// Of the days that were given odds between two bounds, the share that came true lies between them (give or take chance).
TEST(InventedPanel, OddsComeTrueAsOftenAsTheySay) {
  std::map<int, std::pair<double, double>> bands;  // fifth of the odds -> sum of odds, sum that came
  std::map<int, int> count;
  for (std::uint32_t seed = 11; seed <= 16; ++seed) {
    for (const GradedForecast& one : forecasts(invented({.seed = seed, .days = 450}))) {
      const double odds = odds_at_least(one.forecast, one.wanted);
      const int band = std::min(4, static_cast<int>(odds * 5));
      bands[band].first += odds;
      bands[band].second += one.total >= one.wanted;
      ++count[band];
    }
  }
  for (const auto& [band, sums] : bands)
    EXPECT_NEAR(sums.second / count[band], sums.first / count[band], 0.10) << band << " of " << count[band];
}

// The deliberate leak: everything after a moment is made up anew, and no forecast up to that moment may move by a bit.
TEST(InventedPanel, NothingOfTheFutureGoesIntoAForecast) {
  const auto rows = test::invent_minutes({.seed = 5, .days = 90}, new_york());
  const BarSeries whole = series_of(rows);
  std::mt19937 random(9);
  std::size_t compared = 0;
  for (int round = 0; round < 25; ++round) {
    const SessionBars& day = whole.days[52 + random() % (whole.days.size() - 52)];
    const int minute = static_cast<int>(kMinutes[random() % kMinutes.size()]);
    std::vector<BarRow> changed = rows;
    for (BarRow& row : changed) {
      if (row.day > day.day || (row.day == day.day && row.minute >= 570 + minute))
        row.volume = std::round(row.volume * std::exp2(static_cast<double>(random() % 9) - 4));
    }
    const auto before = [&](const BarSeries& series) {
      std::vector<std::pair<double, RemainderView>> all;
      walk_days(series, {.minutes = kMinutes}, [&](const SessionBars& on, const GradedForecast& one) {
        if (on.day < day.day || (on.day == day.day && one.minute <= minute)) all.emplace_back(one.wanted, one.forecast);
      });
      return all;
    };
    const auto was = before(whole), is = before(series_of(changed));
    ASSERT_EQ(was.size(), is.size());
    for (std::size_t i = 0; i < was.size(); ++i) {
      EXPECT_EQ(was[i].first, is[i].first);
      EXPECT_EQ(was[i].second.so_far, is[i].second.so_far);
      EXPECT_EQ(was[i].second.mu, is[i].second.mu);
      EXPECT_EQ(was[i].second.spread, is[i].second.spread);
    }
    compared += was.size();
  }
  EXPECT_GT(compared, 500u);
}

// And the test itself can fail: a change before the moment does move the forecasts.
TEST(InventedPanel, WhatLiesBeforeDoesGoIn) {
  auto rows = test::invent_minutes({.seed = 5, .days = 60}, new_york());
  const auto before = forecasts(series_of(rows));
  for (BarRow& row : rows) row.volume *= row.day == rows.front().day ? 2 : 1;
  const auto after = forecasts(series_of(rows));
  EXPECT_NE(before[0].wanted, after[0].wanted);
  EXPECT_NE(before[0].forecast.mu, after[0].forecast.mu);
}

TEST(InventedPanel, GradingBeginsOnTheFiftyFirstFullSession) {
  const BarSeries series = invented({.days = 60});  // a half day is not among the first sixty of 2015
  std::vector<std::int32_t> graded;
  walk_days(series, {.minutes = {30}}, [&](const SessionBars& day, const GradedForecast&) { graded.push_back(day.day); });
  ASSERT_EQ(graded.size(), 10u);
  EXPECT_EQ(graded.front(), series.days[50].day);
}

TEST(InventedPanel, HalfDaysAndDaysWithAHoleAreNeitherGradedNorLearned) {
  auto rows = test::invent_minutes({.days = 250}, new_york());
  const std::int32_t holed = rows[static_cast<std::size_t>(390) * 100].day;
  std::erase_if(rows, [&](const BarRow& row) { return row.day == holed && row.minute >= 600 && row.minute < 690; });
  const BarSeries series = series_of(rows);
  EXPECT_EQ(series.counts.half_days, 2u);  // 2015-11-27 and -12-24
  EXPECT_EQ(series.counts.short_days, 1u);
  std::size_t graded = 0;
  const Learned learned = walk_days(series, {.minutes = {30}}, [&](const SessionBars& day, const GradedForecast&) {
    EXPECT_NE(day.day, holed);
    EXPECT_FALSE(day.half_day);
    ++graded;
  });
  EXPECT_EQ(graded, series.days.size() - 3 - 50);
  EXPECT_EQ(learned.days, static_cast<int>(series.days.size()) - 3);
}

// Minutes without a trade have no bar; that is no hole of the file.
TEST(InventedPanel, MinutesWithoutATradeAreNoHole) {
  const BarSeries series = invented({.days = 60, .traded = 0.8});
  EXPECT_EQ(series.counts.short_days, 0u);
  EXPECT_EQ(series_of(test::invent_minutes({.days = 60, .traded = 0.1}, new_york())).counts.short_days, 0u);
}

// Two for one in mid history, unadjusted, the prices halving overnight: what follows is as if it had always been so.
TEST(InventedPanel, ASplitInTheHistoryIsSeenInThePrices) {
  auto rows = test::invent_minutes({.days = 120}, new_york());
  for (BarRow& row : rows) row.open = row.close = 100;
  const auto adjusted = forecasts(series_of(rows));
  const std::int32_t split = rows[static_cast<std::size_t>(390) * 80].day;
  for (BarRow& row : rows) {
    if (row.day < split) row.volume /= 2;
    else row.open = row.close = 50;
  }
  const auto raw = forecasts(series_of(rows));
  ASSERT_EQ(raw.size(), adjusted.size());
  for (std::size_t i = raw.size() - 100; i < raw.size(); ++i) {
    EXPECT_NEAR(raw[i].wanted, adjusted[i].wanted, 2e-3 * adjusted[i].wanted);
    EXPECT_NEAR(raw[i].forecast.mu, adjusted[i].forecast.mu, 0.02);
  }
}

// A price that halves overnight in eight times the volume was no split: the history stays as it was.
TEST(InventedPanel, ACrashIsNoSplit) {
  auto rows = test::invent_minutes({.days = 120}, new_york());
  for (BarRow& row : rows) row.open = row.close = 100;
  const std::int32_t crash = rows[static_cast<std::size_t>(390) * 80].day;
  for (BarRow& row : rows) {
    if (row.day == crash) row.volume *= 8;
  }
  const auto plain = forecasts(series_of(rows));
  for (BarRow& row : rows) {
    if (row.day >= crash) row.open = row.close = 50;
  }
  const auto fallen = forecasts(series_of(rows));
  for (std::size_t i = plain.size() - 100; i < plain.size(); ++i)
    EXPECT_NEAR(fallen[i].wanted, plain[i].wanted, 1e-6 * plain[i].wanted);
}

TEST(InventedPanel, AMonthWithoutDataAndADayWithoutVolumeAreStood) {
  auto rows = test::invent_minutes({.days = 150}, new_york());
  const auto day_at = [&](std::size_t i) { return rows[390 * i].day; };
  const std::int32_t from = day_at(70), to = day_at(92), empty = day_at(100);
  for (BarRow& row : rows) row.volume *= row.day == empty ? 0 : 1;
  std::erase_if(rows, [&](const BarRow& row) { return row.day >= from && row.day < to; });
  for (const GradedForecast& one : forecasts(series_of(rows))) {
    EXPECT_TRUE(std::isfinite(one.forecast.mu) && std::isfinite(one.forecast.spread));
    EXPECT_GT(one.forecast.spread, 0);
  }
}

}  // namespace
}  // namespace brimwatch
