// What is said of a stock by its ordinary move and its distance from the pivot.
#include "crossings/odds.h"

#include <gtest/gtest.h>

#include <cmath>

#include "crossings/ordinary_move.h"

namespace brimwatch {
namespace {

/// Closes that move by `moves` (logs) in turn, up and down.
std::vector<DailyBar> bars_moving(const std::vector<double>& moves, int count) {
  std::vector<DailyBar> bars;
  double level = std::log(100.0);
  for (int i = 0; i < count; ++i) {
    if (i > 0) level += (i % 2 ? 1 : -1) * moves[static_cast<std::size_t>(i) % moves.size()];
    const Price close{std::llround(std::exp(level) * 1e6)};
    bars.push_back({Date{20'000 + i}, close, close, close, close, 1000});
  }
  return bars;
}

TEST(OrdinaryMove, is_the_mean_size_of_a_years_moves) {
  const auto move = ordinary_move(bars_moving({0.01, 0.02}, 253), 252);
  ASSERT_TRUE(move);
  EXPECT_NEAR(move->percent, 1.5, 0.0001);
  EXPECT_EQ(move->sessions, 252);
}

TEST(OrdinaryMove, lets_one_bad_print_weigh_no_more_than_five_ordinary_days) {
  auto bars = bars_moving({0.01}, 253);
  bars[100].close.micros *= 10;  // up to ten times the price and back: two wild moves
  const auto move = ordinary_move(bars, 252);
  ASSERT_TRUE(move);
  EXPECT_NEAR(move->percent, (250 * 1.0 + 2 * 5.0) / 252, 0.001);
}

TEST(OrdinaryMove, is_of_what_sessions_there_are_and_of_none_under_fifty) {
  EXPECT_EQ(ordinary_move(bars_moving({0.01}, 121), 120)->sessions, 120);
  EXPECT_FALSE(ordinary_move(bars_moving({0.01}, 50), 49));
  EXPECT_FALSE(ordinary_move(bars_moving({0.0}, 253), 252)) << "a stock that stands still has no move";
}

TEST(OrdinaryMove, measures_how_far_the_pivot_is) {
  EXPECT_NEAR(moves_between(Price{100'000'000}, Price{102'000'000}, 1.0), 100 * std::log(1.02), 1e-9);
}

// The table of the measured panel (501 large US stocks, 2001-2020): of 1,000 plain crossings by ordinary move.
TEST(Odds, said_lie_near_what_came_over_the_whole_range_of_ordinary_moves) {
  struct Row {
    double from, to, up20, down8;
  };
  for (const Row& row : {Row{.6, .8, .025, .273}, Row{.8, 1, .044, .325}, Row{1, 1.2, .088, .391},
                         Row{1.2, 1.5, .131, .444}, Row{1.5, 2, .198, .512}, Row{2, 2.5, .245, .556}}) {
    const double middle = (row.from + row.to) / 2;
    EXPECT_NEAR(kShippedUp20.at(middle), row.up20, 0.03) << middle;
    EXPECT_NEAR(kShippedDown8.at(middle), row.down8, 0.04) << middle;
  }
}

TEST(Odds, of_the_worked_example_are_those_that_were_published_with_the_curve) {
  EXPECT_NEAR(kShippedUp20.at(1.2), .104, .0005);
  EXPECT_NEAR(kShippedDown8.at(1.2), .422, .0005);
  EXPECT_NEAR(cross_in_5(2.1), .37, .005);
}

TEST(Odds, of_a_crossing_within_a_week_fall_with_distance) {
  double before = 1;
  for (double moves = 0; moves < 12; moves += 0.1) {
    EXPECT_LE(cross_in_5(moves), before) << moves;
    before = cross_in_5(moves);
  }
  EXPECT_DOUBLE_EQ(cross_in_5(0), .82);
  EXPECT_DOUBLE_EQ(cross_in_5(100), .01);
}

TEST(Odds, say_where_they_come_from) {
  OddsBook book;
  EXPECT_EQ(origin_of(book), "shipped: 35,023 crossings of 501 large US stocks, 2001-2020");
  book.up20.level = 0.2;
  EXPECT_EQ(origin_of(book), "set by hand in [prepare]");
  book.own_crossings = 1204;
  EXPECT_EQ(origin_of(book), "your own: 1,204 crossings of your bars, drawn towards the shipped odds");
}

}  // namespace
}  // namespace brimwatch
