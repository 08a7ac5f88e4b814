#include "volume/recent.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

namespace brimwatch {
namespace {

constexpr double kHalfLifeMinutes = 60;
constexpr double kQuarterHourMost = 3;  // of one quarter-hour, in ln

double eighth_root(double x) { return std::sqrt(std::sqrt(std::sqrt(x))); }

/// A stretch of the session, the hole in it taken out.
struct Stretch {
  double expected = 0;  ///< share of the day
  double minutes = 0;   ///< that the feed carried
};

/// Walks through the session from the open, one stretch after the other.
class Expectation {
 public:
  Expectation(const DayPlan& plan, const Moment& moment)
      : curve_(plan.curve != nullptr ? *plan.curve : default_curve()),
        scale_(390 / plan.session_minutes),
        hole_from_(moment.missed_from),
        hole_to_(moment.missed_to > moment.missed_from ? moment.missed_to : moment.missed_from),
        opening_missed_(moment.opening_missed) {}

  /// The next stretch, up to `to`.
  Stretch up_to(double to) {
    const double from = std::exchange(at_, to), before = std::exchange(share_, share(to));
    const double opening = from <= 0 && opening_missed_ ? opening_print_share(share_) : 0;
    const double hole_from = std::clamp(hole_from_, from, to), hole_to = std::clamp(hole_to_, from, to);
    const double in_hole = hole_to > hole_from ? share(hole_to) - share(hole_from) : 0;
    return {share_ - before - in_hole - opening, to - from - (hole_to - hole_from)};
  }

 private:
  [[nodiscard]] double share(double minutes) const { return curve_.at(minutes * scale_); }
  const Curve& curve_;
  double scale_, hole_from_, hole_to_;
  bool opening_missed_;
  double at_ = 0, share_ = 0;  ///< how far it has come, and the share of the day by then
};

/// After a restart from an older state, or a snapshot that healed a hole, the quarter-hours may hold less than the sum.
bool quarters_hold_the_day(const DayVolume& day) {
  double sum = static_cast<double>(day.running);
  for (const std::int64_t quarter : day.quarters) sum += static_cast<double>(quarter);
  return sum >= 0.7 * static_cast<double>(day.so_far.micros);
}

}  // namespace

std::optional<double> recent_surprise(const DayPlan& plan, const DayVolume& day, const Moment& moment, double minutes) {
  if (!moment.recent_known || !std::isfinite(moment.missed_from) || !std::isfinite(moment.missed_to)) return std::nullopt;
  if (!quarters_hold_the_day(day)) return std::nullopt;
  Expectation expected(plan, moment);
  const double level = std::exp(plan.prior);
  double sum = 0, weights = 0;
  for (std::size_t q = 0; q < kQuarters; ++q) {
    const double from = kQuarterMinutes * static_cast<double>(q);
    const double to = std::min(from + kQuarterMinutes, minutes);
    if (from >= to) break;
    const Stretch stretch = expected.up_to(to);
    if (stretch.expected < kLeastExpected || stretch.minutes < (to - from) / 3) continue;
    const std::int64_t traded = day.quarters[q] + (day.minute / kQuarterMinutes == static_cast<int>(q) ? day.running : 0);
    const double ratio = static_cast<double>(traded) / 1e6 / (stretch.expected * level);
    const double weight = stretch.minutes * std::exp2((to - minutes) / kHalfLifeMinutes);
    static const double least = std::exp(-kQuarterHourMost), most = std::exp(kQuarterHourMost);
    sum += weight * eighth_root(std::clamp(ratio, least, most));
    weights += weight;
  }
  if (weights <= 0) return std::nullopt;
  return 8 * std::log(sum / weights);
}

}  // namespace brimwatch
