// Said against came: base rates, fifths by ordinary move, and curves that know nothing of their own year.
#include "crossings/grading.h"

#include <gtest/gtest.h>

#include <random>

namespace brimwatch {
namespace {

/// Crossings, one a day, drawn from `truth` for +20 % first.
std::vector<WeekendWatch> drawn_from(const OddsCurve& truth, Date first, int count, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::vector<WeekendWatch> out;
  for (int i = 0; i < count; ++i) {
    WeekendWatch one;
    one.ordinary_move = std::uniform_real_distribution<double>(0.6, 3)(random);
    one.weekend = one.crossed = first + i;
    one.known = one.crossed + 30;
    one.followed.at = 300;
    one.followed.bought = true;
    const bool up = std::uniform_real_distribution<double>(0, 1)(random) < truth.at(one.ordinary_move);
    one.followed.first = up ? CameFirst::up20 : CameFirst::down8;
    out.push_back(one);
  }
  return out;
}

CurveGrade graded(const std::vector<WeekendWatch>& watches) {
  return grade_curve(watches, CameFirst::up20, kShippedUp20, kShippedUp20);
}

TEST(Grading, finds_said_and_came_alike_where_the_curve_is_the_truth) {
  const auto grade = graded(drawn_from(kShippedUp20, Date::of(2010, 1, 1), 5000, 3));
  ASSERT_EQ(grade.fifths.size(), 5U);
  double before = 0;
  for (const SaidAndCame& fifth : grade.fifths) {
    EXPECT_NEAR(fifth.said, fifth.came.share, 0.03);
    EXPECT_EQ(fifth.came.count, 1000);
    EXPECT_GE(fifth.move_least, before);
    before = fifth.move_most;
  }
}

TEST(Grading, sees_a_curve_that_is_wrong_and_that_ones_own_past_is_better) {
  const auto grade = graded(drawn_from({1.5, -2.7}, Date::of(2010, 1, 1), 5000, 3));
  EXPECT_GT(grade.fifths.back().came.share, grade.fifths.back().said + 0.15);
  EXPECT_LT(grade.own_error, grade.said_error - 0.01);
}

TEST(Grading, speaks_of_each_year_by_the_years_before_it_alone) {
  auto watches = drawn_from(kShippedUp20, Date::of(2010, 1, 1), 365, 3);
  EXPECT_EQ(graded(watches).with_own, 0) << "the first year has no past";
  const auto later = drawn_from({3, -2}, Date::of(2011, 1, 1), 365, 5);
  watches.insert(watches.end(), later.begin(), later.end());
  const auto two_years = graded(watches);
  EXPECT_EQ(two_years.with_own, 365);
  for (WeekendWatch& watch : watches) {  // the second year's own results are turned round: what is said of it stays
    if (watch.crossed >= Date::of(2011, 1, 1))
      watch.followed.first = watch.followed.first == CameFirst::up20 ? CameFirst::down8 : CameFirst::up20;
  }
  const auto turned = graded(watches);
  for (std::size_t i = 0; i < 5; ++i) EXPECT_DOUBLE_EQ(turned.fifths[i].own, two_years.fifths[i].own);
}

TEST(Grading, counts_a_result_as_known_only_when_it_was) {
  auto watches = drawn_from(kShippedUp20, Date::of(2010, 1, 1), 365, 3);
  const auto later = drawn_from(kShippedUp20, Date::of(2011, 1, 1), 10, 5);
  watches.insert(watches.end(), later.begin(), later.end());
  EXPECT_EQ(graded(watches).with_own, 10);
  for (WeekendWatch& watch : watches) watch.known = Date::of(2011, 1, 3);
  EXPECT_EQ(graded(watches).with_own, 0);
}

TEST(WatchRates, leave_out_what_was_not_bought) {
  auto watches = drawn_from(kShippedUp20, Date::of(2010, 1, 1), 10, 3);
  for (WeekendWatch& watch : watches) watch.followed.first = CameFirst::up20;
  watches[0].followed.bought = false;
  watches[0].followed.first = CameFirst::down8;
  watches[1].followed = {};
  const WatchRates rates = base_rates(watches);
  EXPECT_EQ(rates.watches, 10);
  EXPECT_EQ(rates.crossed, 9);
  EXPECT_EQ(rates.bought, 8);
  EXPECT_DOUBLE_EQ(rates.up20.share, 1);
  EXPECT_DOUBLE_EQ(rates.down8.share, 0);
}

TEST(FitBook, needs_two_hundred_crossings) {
  EXPECT_FALSE(fit_book(drawn_from(kShippedUp20, Date::of(2010, 1, 1), 199, 3)));
  const auto book = fit_book(drawn_from({1.5, -2.7}, Date::of(2010, 1, 1), 4000, 3));
  ASSERT_TRUE(book);
  EXPECT_EQ(book->own_crossings, 4000);
  EXPECT_GT(book->up20.at(1.5), kShippedUp20.at(1.5) + 0.1);
}

}  // namespace
}  // namespace brimwatch
