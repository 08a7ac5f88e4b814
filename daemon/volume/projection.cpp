#include "volume/projection.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

#include "volume/coefficients.h"
#include "volume/students_t.h"

namespace brimwatch {
namespace {

constexpr double kClip = 3;               // a surprise beyond e^3 says no more than e^3
constexpr double kCrossingShift = 0.165;  // logit of the odds at a crossing of a pivot: such days end heavier than others
constexpr double kLeastShare = 1e-6;      // below this nothing has been expected yet, so nothing can surprise
constexpr double kNoPriorSpread = 0.6;    // without any idea of the day's level

double finite_or(double value, double other) { return std::isfinite(value) ? value : other; }

/// Expected shares of the day by now, in terms of the curve.
struct Expected {
  double minutes = 0;      ///< of 390
  double seen = 0;         ///< by now, holes left out
  double recent = 0;       ///< in the last h minutes, holes left out
  double recent_seen = 1;  ///< part of that window that the feed carried
  double h = 0;
};

Expected expect(const DayPlan& plan, const Moment& moment, double minutes) {
  const Curve& curve = plan.curve != nullptr ? *plan.curve : default_curve();
  const double stretch = 390 / plan.session_minutes;
  Expected out;
  out.minutes = minutes * stretch;
  out.h = std::min(minutes, static_cast<double>(kRecentMinutes));
  const bool due = moment.auction_due && minutes >= plan.session_minutes;
  const double done = curve.at(out.minutes) - (due ? curve.auction : 0);
  out.seen = std::clamp(done - std::clamp(finite_or(moment.missed_share, 0), 0.0, 1.0), 0.0, 1.0);
  const double from = minutes - out.h;
  const double hole_from = std::clamp(finite_or(moment.missed_from, 0), from, minutes);
  const double hole_to = std::clamp(finite_or(moment.missed_to, 0), hole_from, minutes);
  out.recent = done - curve.at(from * stretch) - (curve.at(hole_to * stretch) - curve.at(hole_from * stretch));
  out.recent_seen = out.h > 0 ? 1 - (hole_to - hole_from) / out.h : 0;
  return out;
}

double surprise(double volume, double share, double prior) {
  if (!(volume > 0)) return -kClip;
  return std::clamp(std::log(volume / share) - prior, -kClip, kClip);
}

/// What the volume so far says about the volume to come, as a shift of its logarithm.
double news(const DayPlan& plan, const DayVolume& day, const Expected& expected, const Coefficients& c,
            const Moment& moment, double minutes) {
  const double so_far = day.so_far.as_double();
  if (!(so_far > 0) || expected.seen < kLeastShare) return 0;
  const double u = surprise(so_far, expected.seen, plan.prior);
  double w = u;
  if (moment.recent_known && expected.recent > kLeastShare && expected.recent_seen > 1.0 / 3)
    w = surprise(day.last(minutes, expected.h), expected.recent, plan.prior);
  return std::min(expected.minutes, 1.0) * (c.cumulative * u + c.recent * w);  // the first minute fades in
}

/// Odds of ending at or above `wanted`.
double odds_of(const RemainderForecast& forecast, double wanted) {
  if (forecast.so_far >= wanted) return 1;
  if (forecast.final || forecast.spread <= 0) return 0;
  return 1 - t8_cdf((std::log(wanted - forecast.so_far) - forecast.mu) / forecast.spread);
}

/// Today's ratio of the feed to the tape is not known exactly, so neither is the wanted volume in shares of the feed:
/// odds averaged over five points of a normal distribution (Gauss-Hermite nodes and weights, Abramowitz and Stegun
/// table 25.10).
double odds_with_ratio(const RemainderForecast& forecast, double wanted, double ratio_sd) {
  if (!(ratio_sd > 0)) return odds_of(forecast, wanted);
  constexpr std::array<double, 5> kAt = {-2.8569700138728, -1.3556261799743, 0, 1.3556261799743, 2.8569700138728};
  constexpr std::array<double, 5> kWeight = {0.0112574113277, 0.2220759220056, 0.5333333333333, 0.2220759220056,
                                             0.0112574113277};
  double sum = 0;
  for (std::size_t i = 0; i < kAt.size(); ++i)
    sum += kWeight[i] * odds_of(forecast, wanted * std::exp(kAt[i] * ratio_sd));
  return std::clamp(sum, 0.0, 1.0);
}

double shift_at_crossing(double p) {
  if (p <= 0 || p >= 1) return p;
  return 1 / (1 + std::exp(-(std::log(p / (1 - p)) + kCrossingShift)));
}

double quantile_of(const RemainderForecast& forecast, double p) {
  if (forecast.final) return forecast.so_far;
  return forecast.so_far + std::exp(std::clamp(forecast.mu + forecast.spread * t8_inverse(p), -60.0, 60.0));
}

}  // namespace

double DayVolume::last(double minutes, double h) const {
  const double to = std::clamp(finite_or(minutes, 0), 0.0, 1e6);
  const double from = std::max(to - std::clamp(finite_or(h, 0), 0.0, static_cast<double>(kRecentMinutes)), 0.0);
  double sum = 0;
  for (std::int32_t m = std::max(0, minute - 15); m <= minute; ++m) {
    const double start = m;
    if (start >= to && start > from) continue;  // at exactly a whole minute the next one has not begun
    const double kept = std::clamp(start + 1 - from, 0.0, 1.0);
    sum += kept * static_cast<double>(recent[static_cast<std::size_t>(m & 15)]);
  }
  return sum / 1e6;
}

RemainderForecast forecast_remainder(const DayPlan& plan, const DayVolume& day, const Moment& moment) {
  RemainderForecast out;
  out.so_far = day.so_far.as_double();
  if (!(plan.session_minutes > 0)) return out.final = true, out;
  const double minutes = std::clamp(finite_or(moment.minutes, 0), 0.0, plan.session_minutes);
  const Expected expected = expect(plan, moment, minutes);
  if (expected.seen >= 1 || (minutes >= plan.session_minutes && !moment.auction_due)) return out.final = true, out;
  const bool gap_known = plan.gap >= 0;
  const Coefficients c = coefficients_at(expected.minutes, gap_known);
  const double to_come = std::log(1 - expected.seen);
  if (plan.prior == 0) {  // no level known: the curve alone
    const double level = out.so_far > 0 && expected.seen > kLeastShare ? std::log(out.so_far / expected.seen) : -60;
    return out.mu = level + to_come, out.spread = kNoPriorSpread, out;
  }
  out.mu = plan.prior + to_come + c.a + news(plan, day, expected, c, moment, minutes) +
           (gap_known ? c.gap * std::min(plan.gap, 6.0) : 0) + (plan.expiry ? c.expiry : 0);
  out.spread = std::hypot(c.spread * plan.scale, plan.feed_ratio_sd);
  return out;
}

Projection project(const DayPlan& plan, const DayVolume& day, const Moment& moment, double wanted) {
  const RemainderForecast forecast = forecast_remainder(plan, day, moment);
  Projection out;
  out.median = quantile_of(forecast, 0.5);
  out.low = quantile_of(forecast, 0.1);
  out.high = quantile_of(forecast, 0.9);
  if (!(wanted > 0) || plan.prior == 0) return out;
  const double odds = odds_with_ratio(forecast, wanted, plan.feed_ratio_sd);
  out.odds = moment.at_crossing ? shift_at_crossing(odds) : odds;
  return out;
}

double project_quantile(const DayPlan& plan, const DayVolume& day, const Moment& moment, double p) {
  return quantile_of(forecast_remainder(plan, day, moment), p);
}

double opening_gap(double open, double previous_close, double daily_sd) {
  if (!(open > 0) || !(previous_close > 0) || !(daily_sd > 0)) return -1;
  const double jump = std::fabs(std::log(open / previous_close));
  for (const double ratio : {1.5, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 15.0, 20.0}) {
    if (std::fabs(jump - std::log(ratio)) < 0.04) return -1;
  }
  return jump / daily_sd;
}

}  // namespace brimwatch
