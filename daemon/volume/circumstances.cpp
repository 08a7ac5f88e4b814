#include "volume/circumstances.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

namespace brimwatch {
namespace {

struct At {
  double minute, value;
};

/// Linear between the points, constant beyond them.
template <std::size_t kCount>
double between(const std::array<At, kCount>& points, double minute) {
  if (!(minute > points.front().minute)) return points.front().value;
  for (std::size_t i = 1; i < kCount; ++i) {
    if (minute > points[i].minute) continue;
    const At &from = points[i - 1], &to = points[i];
    return from.value + (minute - from.minute) / (to.minute - from.minute) * (to.value - from.value);
  }
  return points.back().value;
}

constexpr std::array<At, 7> kGap = {{{0, .06}, {15, .06}, {30, .03}, {60, .04}, {120, .03}, {195, .02}, {300, 0}}};
constexpr std::array<At, 7> kGapWidth = {{{0, .25}, {1, .15}, {5, .08}, {10, .05}, {15, .04}, {30, .02}, {60, 0}}};
constexpr std::array<At, 4> kBend = {{{0, .5}, {15, .5}, {30, .67}, {60, 1}}};
constexpr std::array<At, 5> kWeekday = {{{0, 1}, {60, 1}, {120, .67}, {195, .25}, {240, 0}}};
constexpr std::array<At, 8> kThinAbove = {
    {{0, 0}, {1, 0}, {5, -.08}, {15, -.15}, {30, -.16}, {60, -.12}, {120, -.06}, {195, 0}}};
constexpr std::array<At, 7> kThinBelow = {{{0, 0}, {1, 0}, {5, -.07}, {15, -.13}, {30, -.18}, {60, -.18}, {300, -.16}}};

/// Deviations of the opening gap beyond the first, four at the most.
double gap_beyond(const DayPlan& plan) { return plan.gap >= 0 ? std::max(0.0, std::min(plan.gap, 5.0) - 1) : 0; }

/// After a gap the volume weighs more, and the gap itself less.
double gap_shift(const DayPlan& plan, double minute, double surprise) {
  return between(kGap, minute) * gap_beyond(plan) * (std::clamp(surprise, -1.0, 2.0) - .7);
}

/// Above the expected the slope is steeper than below it.
double bend_shift(double minute, double surprise) {
  const double above = std::clamp(surprise, 0.0, 1.5), below = std::clamp(surprise, -1.5, 0.0);
  return between(kBend, minute) * (.06 * above - .05 * below - .02);
}

double weekday_shift(const DayPlan& plan, double minute) {
  constexpr std::array<double, 7> kOf = {0, -.05, 0, .025, .015, 0, 0};  // Sunday is the first
  return plan.weekday < kOf.size() ? kOf[plan.weekday] * between(kWeekday, minute) : 0;
}

/// A thin stock's pace says less of what is to come.
double thin_shift(double minute, double surprise) {
  const double above = std::clamp(surprise, 0.0, 3.0), below = std::clamp(surprise, -3.0, 0.0);
  return between(kThinAbove, minute) * above + between(kThinBelow, minute) * below;
}

}  // namespace

double thinness(double normal, double price) {
  constexpr double kFrom = 400'000, kTo = 100'000;  // shares of a normal day
  constexpr double kDear = 20e6;                    // dollars of a normal day: a judgement
  if (!(normal > 0) || normal * price > kDear) return 0;
  return std::clamp(std::log(kFrom / normal) / std::log(kFrom / kTo), 0.0, 1.0);
}

double first_kappa(double normal) {
  if (!(normal > 0)) return 1;
  return normal < 20'000 ? 1.9 : normal < 100'000 ? 1.65 : normal < 500'000 ? 1.5 : 1;
}

double circumstance_shift(const DayPlan& plan, double minutes_of_390, double surprise) {
  const double bend = (1 - plan.thin) * bend_shift(minutes_of_390, surprise);
  const double thin = plan.thin > 0 ? plan.thin * thin_shift(minutes_of_390, surprise) : 0;
  return std::clamp(minutes_of_390, 0.0, 1.0) *  // the first minute fades in
         (gap_shift(plan, minutes_of_390, surprise) + bend + weekday_shift(plan, minutes_of_390) + thin);
}

double gap_widening(const DayPlan& plan, double minutes_of_390) {
  return 1 + between(kGapWidth, minutes_of_390) * gap_beyond(plan);
}

double crossing_shift(double lift, double minutes_since, double left) {
  constexpr double kHalfLife = 8, kLeastLeft = 0.01, kMostTaken = .5;
  if (!(minutes_since >= 0 && minutes_since <= kCrossingLasts)) return 0;
  const double fade = std::exp2(-minutes_since / kHalfLife);
  return std::log1p(std::max(lift * fade / std::max(left, kLeastLeft), -kMostTaken));
}

}  // namespace brimwatch
