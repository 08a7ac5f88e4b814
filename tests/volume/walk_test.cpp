#include "volume/grading/walk.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "volume/grading/score.h"

namespace brimwatch {
namespace {

constexpr int kOpen = 9 * 60 + 30, kMinutesOfADay = 390;

/// Invented days without dates whose volume follows the usual curve, a little noisy, in bars of `step` minutes.
BarSeries calm_days(int step, int days = 110) {
  std::mt19937_64 random(28);
  std::normal_distribution<double> normal;
  std::vector<BarRow> rows;
  for (int day = 0; day < days; ++day) {
    const double total = 2e6 * std::exp(0.1 * normal(random));
    for (int minute = 0; minute < kMinutesOfADay; ++minute) {
      const double share = default_curve().at(minute + 1) - default_curve().at(minute);
      if (minute % step == 0) rows.push_back({kLabelDay + day, kOpen + minute, 0, 0, 0, 0});
      rows.back().volume += total * share * std::exp(0.05 * normal(random));
    }
  }
  static const auto calendar = Calendar::load("XNYS", {});
  return assemble_bars("KLVN", std::move(rows), {.bar_minutes = step}, **calendar);
}

double mean_error(const BarSeries& series, const WalkOptions& options) {
  Scores scores;
  walk_days(series, options, [&](const SessionBars&, const GradedForecast& one) { scores.add(one); });
  const auto points = scores.points();
  return points.empty() ? NAN : points.front().mape;
}

class BarLength : public testing::TestWithParam<int> {};
INSTANTIATE_TEST_SUITE_P(Minutes, BarLength, testing::Values(2, 4, 5, 6, 10, 12, 15, 20, 30, 60));

// Bars that reach from one quarter-hour into the next give to each what was traded in it.
TEST_P(BarLength, EachQuarterHourHasItsOwnVolume) {
  const BarSeries minutes = calm_days(1, 1), bars = calm_days(GetParam(), 1);
  const DayVolume wanted = volume_seen(minutes, minutes.days[0], {}, 240).settled(),
                  seen = volume_seen(bars, bars.days[0], {}, 240).settled();
  EXPECT_NEAR(seen.so_far.as_double(), wanted.so_far.as_double(), 1);
  for (int quarter = 0; quarter < 240 / kQuarterMinutes; ++quarter) {
    const auto at = static_cast<std::size_t>(quarter);
    const double of = static_cast<double>(wanted.quarters[at]);
    EXPECT_NEAR(static_cast<double>(seen.quarters[at]), of, 0.05 * of) << quarter;
  }
}

// The last quarter-hours weigh most in a projection: what is in the wrong one moves it.
TEST_P(BarLength, DoesNotChangeHowGoodTheProjectionIs) {
  const WalkOptions options{.minutes = {60}};
  EXPECT_NEAR(mean_error(calm_days(GetParam()), options), mean_error(calm_days(1), options), 1.0);
}

TEST_P(BarLength, AHoleTakesOutWhatItCovers) {
  const BarSeries minutes = calm_days(1), bars = calm_days(GetParam());
  const WalkOptions options{.minutes = {120}, .hole_from = 60, .hole_to = 120};
  EXPECT_NEAR(mean_error(bars, options), mean_error(minutes, options), 1.0);
}

// Where the curve has nothing in a bar's minutes, its volume is laid over them evenly, and none is lost.
TEST(LayBar, LosesNothingWhereTheCurveIsFlat) {
  DayVolume seen;
  Curve flat;
  flat.count = 2;
  flat.minute = {1, 390};
  flat.share = {0.5, 0.5};
  lay_bar(seen, flat, {30, 60, 0}, 90);
  EXPECT_NEAR(seen.so_far.as_double(), 60, 1e-6);
  for (std::size_t quarter = 2; quarter < 6; ++quarter) EXPECT_EQ(seen.settled().quarters[quarter], 15'000'000);
}

}  // namespace
}  // namespace brimwatch
