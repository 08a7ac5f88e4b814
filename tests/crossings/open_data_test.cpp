// Crossings of plain 50-day highs on open data. The figures wanted were measured apart from this program, by two others
// that agree to the last crossing; they took each price by the digits of its file.
//   stocknet data set (MIT), 86 large stocks 2012-2017; BA, CAT, F, GE to 2013 from MarketData.jl (MIT), raw prices by
//   the split ratio; IBM (2:1 on 1999-05-27) and BAC (2:1 on 2004-08-30) from the sample data of Lean (Apache-2.0).
#include "open_data.h"

#include <gtest/gtest.h>

#include <filesystem>

#include "crossings/crossing.h"
#include "crossings/odds.h"
#include "crossings/tally.h"
#include "support/data.h"

namespace brimwatch {
namespace {

using testing_support::halve_before;
using testing_support::open_bars;

struct Figures {
  int prepared = 0, bought = 0;
  std::vector<Forecast> within_5, up20, down8;
  int held = 0, surge = 0;

  void add(const std::vector<WeekendWatch>& watches) {
    for (const WeekendWatch& watch : watches) {
      ++prepared;
      within_5.push_back({-watch.moves_to_pivot, watch.followed.within_5});
      if (watch.followed.bought) add_bought(watch);
    }
  }
  void add_bought(const WeekendWatch& watch) {
    ++bought;
    up20.push_back({kShippedUp20.at(watch.ordinary_move), watch.followed.first == CameFirst::up20});
    down8.push_back({kShippedDown8.at(watch.ordinary_move), watch.followed.first == CameFirst::down8});
    held += watch.followed.held;
    surge += watch.followed.surge;
  }
};

double percent_came(const std::vector<Forecast>& all) {
  double came = 0;
  for (const Forecast& one : all) came += one.came;
  return 100 * came / static_cast<double>(all.size());
}

double percent_said(const std::vector<Forecast>& all) {
  double said = 0;
  for (const Forecast& one : all) said += one.said;
  return 100 * said / static_cast<double>(all.size());
}

constexpr double kTenth = 0.0501;  // the table is rounded to tenths of a percent
constexpr double kArea = 0.000501;

TEST(OpenData, stocknet_plain_highs_come_to_the_measured_figures) {
  BRIMWATCH_NEEDS_DATA("daily/stocknet");
  const auto weekends = days_between(Date::of(2013, 9, 6), Date::of(2017, 5, 26), 14);
  Figures found;
  for (const auto& entry : std::filesystem::directory_iterator(test::data_path("daily/stocknet"))) {
    if (entry.path().extension() == ".csv") found.add(plain_watches(open_bars(entry.path().string()), weekends));
  }
  EXPECT_EQ(found.prepared, 6'148);
  EXPECT_EQ(found.bought, 1'204);
  EXPECT_NEAR(percent_came(found.within_5), 10.7, kTenth);
  EXPECT_NEAR(area_under_curve(found.within_5), .874, kArea);
  EXPECT_NEAR(percent_came(found.up20), 4.2, kTenth);
  EXPECT_NEAR(percent_said(found.up20), 6.4, kTenth);
  EXPECT_NEAR(area_under_curve(found.up20), .744, kArea);
  EXPECT_NEAR(percent_came(found.down8), 31.9, kTenth);
  EXPECT_NEAR(percent_said(found.down8), 33.8, kTenth);
  EXPECT_NEAR(area_under_curve(found.down8), .632, kArea);
  EXPECT_NEAR(100.0 * found.held / found.bought, 52.5, kTenth);
  EXPECT_NEAR(100.0 * found.surge / found.bought, 32.4, kTenth);
}

TEST(OpenData, four_stocks_through_their_splits_come_to_the_measured_figures) {
  BRIMWATCH_NEEDS_DATA("daily/splits");
  const auto weekends = days_between(Date::of(1986, 1, 10), Date::of(2013, 9, 20), 7);
  Figures found;
  for (const char* symbol : {"BA", "CAT", "F", "GE"}) {
    found.add(plain_watches(open_bars(test::data_path("daily/splits/" + std::string(symbol) + ".csv")), weekends));
  }
  EXPECT_EQ(found.prepared, 4'424);
  EXPECT_EQ(found.bought, 748);
  EXPECT_NEAR(percent_came(found.within_5), 9.3, kTenth);
  EXPECT_NEAR(area_under_curve(found.within_5), .875, kArea);
  EXPECT_NEAR(percent_came(found.up20), 17.9, kTenth);
  EXPECT_NEAR(percent_said(found.up20), 13.1, kTenth);
  EXPECT_NEAR(area_under_curve(found.up20), .616, kArea);
  EXPECT_NEAR(percent_came(found.down8), 39.7, kTenth);
  EXPECT_NEAR(percent_said(found.down8), 43.9, kTenth);
  EXPECT_NEAR(area_under_curve(found.down8), .595, kArea);
  EXPECT_NEAR(100.0 * found.held / found.bought, 53.9, kTenth);
  EXPECT_NEAR(100.0 * found.surge / found.bought, 47.1, kTenth);
}

struct OneStock {
  const char* symbol;
  Date split;
  int prepared, bought;
  double up_came, up_said, down_came, down_said;
};

class OpenStock : public ::testing::TestWithParam<OneStock> {};

TEST_P(OpenStock, comes_to_the_measured_figures) {
  BRIMWATCH_NEEDS_DATA("daily/IBM.csv");
  const OneStock& wanted = GetParam();
  auto bars = open_bars(test::data_path("daily/" + std::string(wanted.symbol) + ".csv"));
  halve_before(bars, wanted.split);
  Figures found;
  found.add(plain_watches(bars, days_between(Date::of(1999, 1, 8), Date::of(2020, 12, 11), 7)));
  EXPECT_EQ(found.prepared, wanted.prepared);
  EXPECT_EQ(found.bought, wanted.bought);
  EXPECT_NEAR(percent_came(found.up20), wanted.up_came, kTenth);
  EXPECT_NEAR(percent_said(found.up20), wanted.up_said, kTenth);
  EXPECT_NEAR(percent_came(found.down8), wanted.down_came, kTenth);
  EXPECT_NEAR(percent_said(found.down8), wanted.down_said, kTenth);
}

INSTANTIATE_TEST_SUITE_P(Stocks, OpenStock,
                         ::testing::Values(OneStock{"IBM", Date::of(1999, 5, 27), 899, 160, 1.9, 9.5, 40.0, 37.8},
                                           OneStock{"BAC", Date::of(2004, 8, 30), 908, 141, 9.9, 15.0, 53.2, 43.6}),
                         [](const auto& stock) { return std::string(stock.param.symbol); });

}  // namespace
}  // namespace brimwatch
