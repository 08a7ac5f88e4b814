#include "volume/learning/own_lift.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>

#include "volume/projection.h"
#include "volume/students_t.h"

namespace brimwatch {
namespace {

/// By how much the lift that is right for some users differs from the shipped one, as a standard deviation: what was
/// fitted lies .01 to .05 above what ships (README.md, "At the crossing").
constexpr double kUsersDiffer = .04;
constexpr double kLeastLift = -.05, kMostLift = .10;
constexpr double kOutlier = 3;  // standard errors; what lies beyond counts as if it lay there

/// One crossing as a line through the origin: ln(came over projected) is `effect` times the lift that was missing.
struct Line {
  Date day;
  double effect = 0, error = 0, weight = 0;
};

/// The lift moves ln(day) by the part that is still to come, per share of the day that is left.
double effect_of(const PastCrossing& one) {
  constexpr double kLeastLeft = .02, kSession = 390;
  const double left = 1 - default_curve().at(std::min(one.minutes, kSession));
  const double to_come = std::clamp((one.projected - one.so_far) / one.projected, 0.0, 1.0);
  return to_come / std::max(left + one.lift, kLeastLeft);
}

/// False: nothing can be learned from it.
bool line_of(const PastCrossing& one, Line& out) {
  static const double kEightyPercent = skewed_t8_inverse(.9) - skewed_t8_inverse(.1);
  if (!(one.projected > 0) || !(one.came > 0) || !(one.low > 0) || !(one.high > one.low) || !(one.minutes >= 0))
    return false;
  const double spread = std::log(one.high / one.low) / kEightyPercent;
  // What was said is the median, and the mean lies beyond it: errors lean to the right.
  const double off =
      std::clamp(std::log(one.came / one.projected) - kSkewMean * spread, -kOutlier * spread, kOutlier * spread);
  out = {one.day, effect_of(one), 0, 1 / (spread * spread)};
  out.error = off + out.effect * one.own_lift;  // what would have been off without it
  return out.effect > 0;
}

/// Least squares and the variance of its answer; crossings of a day move together.
struct Fit {
  double lift = 0, variance = 0;
};

Fit fit_of(const std::vector<Line>& lines) {
  constexpr double kOfT8 = 8.0 / 6;  // variance of Student's t
  double squares = 0, products = 0;
  for (const Line& one : lines) {
    squares += one.weight * one.effect * one.effect;
    products += one.weight * one.effect * one.error;
  }
  const double lift = products / squares;
  std::map<Date, double> by_day;
  for (const Line& one : lines) by_day[one.day] += one.weight * one.effect * (one.error - one.effect * lift);
  double clustered = 0;
  for (const auto& [day, sum] : by_day) clustered += sum * sum;
  return {lift, std::max(kOfT8 / squares, clustered / (squares * squares))};
}

int days_of(const std::vector<Line>& lines) {
  std::map<Date, int> days;
  for (const Line& one : lines) ++days[one.day];
  return static_cast<int>(days.size());
}

}  // namespace

OwnLift learn_lift(std::span<const PastCrossing> crossings) {
  OwnLift out;
  std::vector<Line> lines;
  for (const PastCrossing& one : crossings) {
    Line line;
    if (line_of(one, line)) lines.push_back(line);
  }
  out.crossings = static_cast<int>(lines.size());
  out.days = days_of(lines);
  if (lines.empty()) return out;
  const auto [first, last] =
      std::minmax_element(lines.begin(), lines.end(), [](const Line& a, const Line& b) { return a.day < b.day; });
  out.from = first->day, out.to = last->day;
  if (out.crossings < kFewestCrossings || out.days < kFewestCrossingDays) return out;
  const Fit fit = fit_of(lines);
  constexpr double kPrior = kUsersDiffer * kUsersDiffer;
  out.lift = std::clamp(fit.lift * kPrior / (kPrior + fit.variance), kLeastLift, kMostLift);
  return out;
}

const OwnLift* own_lift_on(const OwnLifts& lifts, Date day) {
  const auto after = std::find_if(lifts.begin(), lifts.end(), [day](const OwnLift& one) { return one.since > day; });
  return after == lifts.begin() ? nullptr : &*std::prev(after);
}

bool is_lift_due(const OwnLifts& lifts, Date since) {
  if (lifts.empty()) return true;
  const auto newest = lifts.back().since.ymd(), now = since.ymd();
  return since > lifts.back().since && (newest.year() != now.year() || newest.month() != now.month());
}

std::string lift_in_words(const OwnLifts& lifts) {
  if (lifts.empty() || lifts.back().lift == 0) return {};
  const OwnLift& own = lifts.back();
  char text[200];
  std::snprintf(text, sizeof text,
                "since %s your own crossings move the volume to come after one: %+.1f %% of a day, from %d till %s",
                to_string(own.since).c_str(), 100 * own.lift, own.crossings, to_string(own.to).c_str());
  return text;
}

}  // namespace brimwatch
