// What followed a pivot, rule by rule, on short series whose answer can be read off.
#include "crossings/crossing.h"

#include <gtest/gtest.h>

#include <cmath>

#include "crossings/plain_high.h"

namespace brimwatch {
namespace {

constexpr Price kPivot{100'000'000};

DailyBar bar(int i, double open, double high, double low, double close, double volume = 1000) {
  const auto price = [](double units) { return Price{std::llround(units * 1e6)}; };
  return {Date{20'000 + i}, price(open), price(high), price(low), price(close), volume};
}

/// Sixty quiet bars at 95, then the ones given; the last known bar is the sixtieth.
class Following : public ::testing::Test {
 protected:
  Following() {
    for (int i = 0; i < 60; ++i) bars.push_back(bar(i, 95, 96, 94, 95));
  }
  void next(double open, double high, double low, double close, double volume = 1000) {
    bars.push_back(bar(static_cast<int>(bars.size()), open, high, low, close, volume));
  }
  void quiet(int sessions, double at = 95) {
    for (int i = 0; i < sessions; ++i) next(at, at + 1, at - 1, at);
  }
  [[nodiscard]] FollowedPivot followed() const { return follow_pivot(bars, 59, kPivot); }

  std::vector<DailyBar> bars;
};

TEST_F(Following, a_high_at_the_pivot_crosses_and_one_under_it_does_not) {
  next(95, 99.99, 94, 96);
  next(99, 100, 98, 99);
  EXPECT_EQ(followed().at, 61);
  EXPECT_TRUE(followed().within_5);
  EXPECT_EQ(followed().entry, kPivot);
  EXPECT_FALSE(followed().held) << "it closed under the pivot";
}

TEST_F(Following, a_crossing_after_the_fifth_session_is_not_within_a_week_and_after_the_tenth_is_none) {
  quiet(5);
  next(99, 101, 98, 101);
  EXPECT_EQ(followed().at, 65);
  EXPECT_FALSE(followed().within_5);
  EXPECT_TRUE(followed().held);
  bars.resize(60);
  quiet(10);
  next(99, 101, 98, 101);
  EXPECT_EQ(followed().at, -1);
}

TEST_F(Following, an_open_over_the_range_is_not_bought_and_one_in_it_is_bought_at_the_open) {
  next(105, 106, 104, 105);
  EXPECT_TRUE(followed().bought);
  EXPECT_EQ(followed().entry, Price{105'000'000});
  bars.back() = bar(60, 105.01, 106, 104, 105);
  EXPECT_FALSE(followed().bought);
}

TEST_F(Following, the_crossings_own_session_counts_by_its_close_alone) {
  next(99, 121, 90, 101);  // neither its high nor its low decides: their order is not known
  EXPECT_EQ(followed().first, CameFirst::neither);
  bars.back() = bar(60, 99, 121, 90, 91.99);
  EXPECT_EQ(followed().first, CameFirst::down8);
  EXPECT_EQ(followed().sessions, 0);
}

TEST_F(Following, both_ends_within_one_session_count_as_the_fall) {
  next(99, 101, 98, 101);
  next(101, 120, 92, 110);
  EXPECT_EQ(followed().first, CameFirst::down8);
  EXPECT_EQ(followed().sessions, 1);
  bars.back() = bar(61, 101, 120, 92.01, 110);
  EXPECT_EQ(followed().first, CameFirst::up20);
}

TEST_F(Following, the_sixtieth_session_after_the_crossing_is_the_last_that_counts) {
  next(99, 101, 98, 101);
  quiet(59, 101);
  next(118, 120, 117, 118);
  EXPECT_EQ(followed().first, CameFirst::up20);
  EXPECT_EQ(followed().sessions, 60);
  bars.insert(bars.begin() + 61, bar(61, 101, 102, 100, 101));
  EXPECT_EQ(followed().first, CameFirst::neither);
}

TEST_F(Following, a_surge_is_measured_against_the_fifty_sessions_before) {
  next(99, 101, 98, 101, 1400);
  EXPECT_TRUE(followed().surge);
  bars.back().volume = 1399;
  EXPECT_FALSE(followed().surge);
}

TEST(PlainHigh, is_the_first_of_the_highest_highs_and_at_least_five_sessions_old) {
  std::vector<DailyBar> bars;
  for (int i = 0; i < 60; ++i) bars.push_back(bar(i, 95, 96, 94, 95));
  bars[30] = bars[54] = bar(0, 95, 99, 94, 95);
  const auto high = plain_high(bars, 59);
  ASSERT_TRUE(high);
  EXPECT_EQ(high->peak, 30);
  EXPECT_EQ(high->pivot, Price{99'100'000});
  bars[30].high = Price{96'000'000};
  EXPECT_EQ(plain_high(bars, 59)->peak, 54) << "five sessions old";
  EXPECT_FALSE(plain_high(bars, 58)) << "four sessions old";
  EXPECT_FALSE(plain_high(bars, 48)) << "fewer than fifty sessions";
}

TEST(Weekends, need_a_year_before_and_the_whole_sequel_after) {
  std::vector<DailyBar> bars;
  for (int i = 0; i < 253 + 71; ++i) bars.push_back(bar(i, 95, 96, 94, i % 2 ? 95 : 95.5));
  EXPECT_EQ(known_at(bars, Date{20'000 + 252}), 252);
  EXPECT_EQ(known_at(bars, Date{20'000 + 251}), -1);
  EXPECT_EQ(known_at(bars, Date{20'000 + 253}), -1);
}

}  // namespace
}  // namespace brimwatch
