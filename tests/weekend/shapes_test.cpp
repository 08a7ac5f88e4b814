// What is no base though it looks like one, and what one print does to a pivot.
#include <gmock/gmock.h>

#include <algorithm>

#include "planted.h"
#include "weekend/choose.h"
#include "weekend/finder.h"
#include "weekend/list.h"
#include "weekend/prepare.h"
#include "weekend/weekly.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;
using testing_support::plant;

bool has(const std::vector<Base>& bases, BaseKind kind) {
  return std::any_of(bases.begin(), bases.end(), [&](const Base& base) { return base.kind == kind; });
}

/// Closes along straight legs in logs, each bar a tenth of a percent around its close: exact shapes.
std::vector<DailyBar> along(const std::vector<std::pair<int, double>>& legs) {
  std::vector<DailyBar> bars;
  double level = std::log(50.0) - 0.6;
  for (const auto& [sessions, to] : legs) {
    const double from = level, target = std::log(50.0) + to;
    for (int i = 1; i <= sessions; ++i) {
      level = from + (target - from) * i / sessions;
      const double close = std::exp(level);
      bars.push_back({testing_support::session_day(static_cast<int>(bars.size())), testing_support::cents(close),
                      testing_support::cents(close * 1.001), testing_support::cents(close * 0.999),
                      testing_support::cents(close), 1e6});
    }
  }
  return bars;
}

TEST(Cliff, half_of_the_fall_in_one_session_is_no_side_of_a_cup) {
  const auto cup = [](double step) {
    return along({{120, -0.3},
                  {60, 0},
                  {5, -0.25 * (1 - step) / 2},
                  {1, -0.25 * (1 + step) / 2},
                  {10, -0.25},
                  {20, -0.02},
                  {5, -0.05},
                  {4, -0.04}});
  };
  EXPECT_TRUE(has(find_bases(cup(0.40), {}), BaseKind::cup_with_handle));
  EXPECT_FALSE(has(find_bases(cup(0.55), {}), BaseKind::cup_with_handle));
}

TEST(DoubleBottom, needs_two_legs_of_which_the_smaller_is_half_the_larger) {
  const auto twice = [](double first, double middle, double second) {
    return along({{120, -0.3}, {60, 0}, {20, first}, {15, middle}, {15, second}, {8, second + 0.6 * (middle - second)}});
  };
  EXPECT_TRUE(has(find_bases(twice(-0.25, -0.10, -0.26), {}), BaseKind::double_bottom));
  RuleBook low_middle;
  low_middle.middle_least = 20;
  EXPECT_FALSE(has(find_bases(twice(-0.25, -0.15, -0.26), low_middle), BaseKind::double_bottom)) << "0.11 against 0.25";
  EXPECT_FALSE(has(find_bases(twice(-0.25, -0.10, -0.33), {}), BaseKind::double_bottom))
      << "eight percent under the first";
  RuleBook shallow;
  shallow.shape_w_depth_least = 5;
  EXPECT_FALSE(has(find_bases(twice(-0.09, -0.02, -0.10), shallow), BaseKind::double_bottom)) << "a first leg of 9 %";
}

TEST(FlatBase, does_not_begin_in_the_end_of_the_advance) {
  // The last week of the advance runs through prices that are within the base's slack of its high.
  const auto bars = along({{120, -0.3}, {60, -0.025}, {5, 0}, {15, -0.06}, {15, -0.02}, {10, -0.05}});
  const auto bases = find_bases(bars, {});
  ASSERT_TRUE(has(bases, BaseKind::flat_base));
  for (const Base& base : bases) {
    EXPECT_TRUE(base.kind != BaseKind::flat_base || base.start == 184) << "not the top of the advance: " << base.start;
  }
}

TEST(Handle, counts_by_its_middle) {
  // A low in the lower half, a middle in the upper half: kept.
  const auto bars = along({{120, -0.3}, {60, 0}, {20, -0.28}, {10, -0.28}, {20, -0.02}, {8, -0.16}, {4, -0.12}});
  RuleBook book;
  const auto found = judge_bases("KLVN", bars, {}, book);
  const auto cup = std::find_if(found.begin(), found.end(),
                                [](const Candidate& one) { return one.facts.kind == BaseKind::cup_with_handle; });
  ASSERT_NE(cup, found.end());
  const double middle = (std::exp(-0.02) + std::exp(-0.16)) / 2, bottom = std::exp(-0.28);
  EXPECT_NEAR(cup->facts.handle_place, 100 * (middle - bottom) / (1 - bottom), 1);
  EXPECT_LT(100 * (std::exp(-0.16) - bottom) / (1 - bottom), 50) << "its low";
  const auto place = std::find_if(cup->judgement.rules.begin(), cup->judgement.rules.end(),
                                  [](const RuleResult& rule) { return std::string_view(rule.name) == "handle-place"; });
  EXPECT_EQ(place->verdict, Verdict::kept) << place->sentence;
}

TEST(OnePrint, is_named_with_the_next_high_beside_it) {
  auto bars = plant(BaseKind::flat_base, 0.006, 3).bars;
  const auto clean = judge_bases("KLVN", bars, {}, {}).front();
  EXPECT_FALSE(clean.facts.print);
  const auto peak = static_cast<std::size_t>(clean.base.peak);
  const Price before = bars[peak].high;
  bars[peak].high.micros = before.micros * 106 / 100;
  const auto spiked = judge_bases("KLVN", bars, {}, {}).front();
  ASSERT_TRUE(spiked.facts.print);
  EXPECT_GT(spiked.facts.print->over, 3);
  EXPECT_LE(spiked.facts.print->next, before);
  EXPECT_GT(spiked.facts.print->next.micros, before.micros * 97 / 100);
  EXPECT_THAT(in_words(spiked, {}), HasSubstr("the next high is " + to_string(spiked.facts.print->next)));
}

TEST(Weeks, are_made_of_days_and_have_a_ten_week_mean) {
  const auto bars = along({{100, 0}});
  const auto weeks = weekly_bars(bars);
  ASSERT_EQ(weeks.size(), 20U);
  EXPECT_EQ(weeks[0].open, bars[0].open);
  EXPECT_EQ(weeks[0].close, bars[4].close);
  EXPECT_EQ(weeks[0].high, bars[4].high);
  EXPECT_EQ(weeks[0].day, bars[4].day);
  EXPECT_EQ(weeks[0].volume, 5e6);
  double sum = 0;
  for (std::size_t i = 10; i < 20; ++i) sum += weeks[i].close.as_double();
  EXPECT_NEAR(*ten_week_mean(bars), sum / 10, 1e-9);
  EXPECT_DOUBLE_EQ(*ten_week_mean(bars), *mean_of_weeks(weeks, 19));
  EXPECT_FALSE(ten_week_mean(std::span(bars).first(45)));
}

Candidate at_distance(const char* symbol, double moves, double up20 = 0.1) {
  Candidate one;
  one.symbol = symbol;
  one.outlook = Outlook{{1.2, 252}, moves, 0.3, up20, 0.4};
  return one;
}

TEST(Order, is_sound_data_first_then_nearness_and_never_what_is_likely_to_rise) {
  std::vector<Candidate> list = {at_distance("KLVN", 3, 0.3), at_distance("NIVO", 1, 0.05), at_distance("HALQ", 0.5),
                                 at_distance("QUOL", 2)};
  list[2].doubts = {"no volume on 2 of the last 50 sessions"};
  std::sort(list.begin(), list.end(), stands_before);
  std::string order;
  for (const Candidate& one : list) order += one.symbol + " ";
  EXPECT_EQ(order, "NIVO QUOL KLVN HALQ ");
  EXPECT_TRUE(is_near(list[2], {}));
  EXPECT_FALSE(is_near(list[3], {})) << "doubtful";
  EXPECT_FALSE(is_near(at_distance("KLVN", 4.01), {}));
}

}  // namespace
}  // namespace brimwatch
