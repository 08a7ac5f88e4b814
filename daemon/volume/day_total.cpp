#include "volume/day_total.h"

#include <algorithm>
#include <cmath>

#include "volume/students_t.h"

namespace brimwatch {
namespace {

constexpr double kFarthest = 60;  // ln of shares; no day is larger

/// How far the total is drawn towards what was expected before the open: the more the feed's part varies, the less what
/// it says of today is worth.
double drawn_to_prior(double ratio_sd) {
  constexpr double kMost = .5, kDayToDay = .16;  // variance of ln(day's volume) about the prior
  const double doubt = ratio_sd * ratio_sd;
  return kMost * doubt / (doubt + kDayToDay);
}

}  // namespace

DayTotal::DayTotal(const DayPlan& plan, const RemainderForecast& forecast) : forecast_(forecast) {
  const double to_come = forecast.final ? 0 : std::exp(std::clamp(forecast.mu, -kFarthest, kFarthest));
  const double median = std::max(forecast.so_far, 0.0) + to_come;
  in_doubt_ = plan.feed_ratio_sd > 0 && plan.prior != 0 && median > 0;
  if (!in_doubt_) return;
  const double ratio_sd = std::min(plan.feed_ratio_sd, kFarthest);
  const double drawn = drawn_to_prior(ratio_sd);
  middle_ = plan.prior + (1 - drawn) * (std::log(median) - plan.prior);
  spread_ = std::hypot(to_come / median * forecast.spread, ratio_sd) * std::sqrt(1 - drawn);
}

double DayTotal::at(double t) const {
  if (in_doubt_) return std::exp(std::clamp(middle_ + spread_ * t, -kFarthest, kFarthest));
  if (forecast_.final) return forecast_.so_far;
  return forecast_.so_far + std::exp(std::clamp(forecast_.mu + forecast_.spread * t, -kFarthest, kFarthest));
}

double DayTotal::odds(double wanted) const {
  if (in_doubt_) return 1 - skewed_t8_cdf((std::log(wanted) - middle_) / spread_);
  if (forecast_.so_far >= wanted) return 1;
  if (forecast_.final || forecast_.spread <= 0) return 0;
  return 1 - skewed_t8_cdf((std::log(wanted - forecast_.so_far) - forecast_.mu) / forecast_.spread);
}

}  // namespace brimwatch
