// What makes bars doubtful, on bars that are sound but for one thing. How seldom sound ones are doubted is measured on
// open data by scripts/history-figures.
#include "bars/faults.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

Price price(double value) { return Price{std::llround(value * 100) * 10'000}; }

/// A calm stock of 100 weekdays round 50, without noise that a test would have to look away from.
DailySeries calm() {
  DailySeries series;
  series.symbol = "KLVN";
  Date day = Date::of(2026, 6, 1);
  for (int i = 0; series.bars.size() < 100; ++i, day = day + 1) {
    const unsigned weekday = day.weekday().iso_encoding();
    if (weekday > 5) continue;
    const double close = 50 + std::sin(i * 0.7) + 0.02 * i;
    series.bars.push_back(
        {day, price(close - 0.3), price(close + 0.6), price(close - 0.7), price(close), 1'000'000.0 + 7919 * (i % 37)});
  }
  return series;
}

std::vector<Date> days_of(const DailySeries& series) {
  std::vector<Date> days;
  for (const DailyBar& bar : series.bars) days.push_back(bar.day);
  return days;
}

std::vector<std::string> found(const DailySeries& series, std::span<const Date> sessions = {}) {
  std::vector<std::string> out;
  const BarChecks checks;
  for (const BarFinding& one : find_faults(series, {checks, sessions}))
    out.push_back(std::string(to_string(one.fault)) + ": " + one.text);
  return out;
}

TEST(BarFaults, SoundBarsHaveNone) {
  const DailySeries series = calm();
  EXPECT_THAT(found(series, days_of(series)), IsEmpty());
}

TEST(BarFaults, ARowOfADayOnWhichTheExchangeWasClosed) {
  DailySeries series = calm();
  const std::vector<Date> sessions = days_of(series);
  series.bars[94].day = series.bars[94].day + 1;  // a Friday's, stamped Saturday
  ASSERT_FALSE(std::binary_search(sessions.begin(), sessions.end(), series.bars[94].day));
  const auto closed = rows_of_closed_days(series, sessions);
  ASSERT_TRUE(closed);
  EXPECT_EQ(closed->text, "the exchange was closed, and there is a row on " + to_string(series.bars[94].day));
  EXPECT_FALSE(rows_of_closed_days(calm(), sessions));
  EXPECT_FALSE(rows_of_closed_days(series, {})) << "where the sessions are not known";
  EXPECT_THAT(found(series, sessions), ElementsAre("missing: no row on " + to_string(sessions[94])));
}

TEST(BarFaults, OnePrintsHighOrLowFarFromItsNeighbours) {
  DailySeries high = calm(), low = calm();
  high.bars[60].high = price(64);
  EXPECT_THAT(found(high), ElementsAre("spike: a price of 64.00 on 2026-08-24, far from its neighbours"));
  low.bars[99].low = price(31);
  EXPECT_THAT(found(low), ElementsAre(HasSubstr("a price of 31.00 on")));
}

TEST(BarFaults, AMoveThatStaysIsNoSpike) {
  DailySeries series = calm();
  for (std::size_t i = 60; i < 100; ++i) {
    for (Price* p : {&series.bars[i].open, &series.bars[i].high, &series.bars[i].low, &series.bars[i].close})
      p->micros = p->micros * 5 / 4;  // up 25 % overnight, on news
    series.bars[i].volume *= i == 60 ? 8 : 1;
  }
  series.bars[59].high = price(62);  // and it had begun the evening before
  EXPECT_THAT(found(series), IsEmpty());
}

TEST(BarFaults, ASplitThatNobodyTold) {
  DailySeries series = calm();
  for (std::size_t i = 0; i < 70; ++i) {
    for (Price* p : {&series.bars[i].open, &series.bars[i].high, &series.bars[i].low, &series.bars[i].close})
      p->micros *= 2;
    series.bars[i].volume /= 2;
  }
  EXPECT_THAT(found(series), ElementsAre(HasSubstr("on 2026-09-07: an unreported 2:1 split?")));
  BarChecks checks;
  checks.split = BarTreatment::leave_out;
  const TrustedBars trusted = treat(series, BarQuestion{checks});
  EXPECT_EQ(series.bars.size(), 30U);
  EXPECT_EQ(trusted.left_out.size(), 1U);
}

TEST(BarFaults, SessionsWithoutARowHaltsRepeatsAndOldFiles) {
  DailySeries series = calm();
  const std::vector<Date> sessions = days_of(series);
  series.bars[90].volume = 0;
  series.bars[80] = series.bars[79], series.bars[80].day = sessions[80];
  series.bars.erase(series.bars.begin() + 50, series.bars.begin() + 52);
  series.bars.resize(95);
  const BarChecks checks;
  const auto faults = find_faults(series, {checks, sessions, sessions.back()});
  ASSERT_EQ(faults.size(), 4U);
  EXPECT_EQ(faults[0].text, "a row that repeats the one before on " + to_string(sessions[80]));
  EXPECT_EQ(faults[1].text, "no volume on " + to_string(sessions[90]));
  EXPECT_EQ(faults[2].text, "no row on 2 days, the last " + to_string(sessions[51]));
  EXPECT_EQ(faults[3].text, "the rows end " + to_string(sessions[96]) + ", 3 sessions before the last");
  const TrustedBars trusted = treat(series, {checks, sessions});
  EXPECT_EQ(series.bars.size(), 93U) << "the repeat and the halt are left out";
  EXPECT_THAT(trusted.left_out, testing::SizeIs(2));
  EXPECT_THAT(trusted.doubts, testing::SizeIs(1));
}

TEST(BarFaults, RowsOfAnotherSymbolAreNotUsed) {
  DailySeries series = calm();
  series.told_symbol = "NIVO";
  const BarChecks checks;
  EXPECT_EQ(in_words(treat(series, BarQuestion{checks}).left_out), "its rows are of NIVO");
  EXPECT_THAT(series.bars, IsEmpty());
}

TEST(BarFaults, WhatIsToBeUsedIsUsedInSilence) {
  DailySeries series = calm();
  series.bars[60].high = price(64);
  series.bars[70].volume = 0;
  BarChecks checks;
  checks.spike = checks.still = BarTreatment::use;
  const TrustedBars trusted = treat(series, BarQuestion{checks});
  EXPECT_THAT(trusted.doubts, IsEmpty());
  EXPECT_THAT(trusted.left_out, IsEmpty());
  EXPECT_EQ(series.bars.size(), 100U);
}

TEST(BarFaults, OldFaultsDoNotMatterToNewestRows) {
  DailySeries series = calm();
  series.bars[10].high = price(64);
  const BarChecks checks;
  EXPECT_THAT(find_faults(series, {checks, {}, {}, 60}), IsEmpty());
  EXPECT_THAT(find_faults(series, {checks, {}, {}, 0}), testing::SizeIs(1));
}

TEST(BarFaults, RowsMadeAllAlikeAreNoRepeats) {
  DailySeries series = calm();
  for (DailyBar& bar : series.bars) bar = {bar.day, price(50), price(51), price(49), price(50), 1e6};
  EXPECT_THAT(found(series), IsEmpty());
}

}  // namespace
}  // namespace brimwatch
