#pragma once
// From the forecast of what is to come to the day's total: its quantiles, and the odds that it reaches a volume. Pure.
#include "volume/projection.h"

namespace brimwatch {

/// Where a feed carries a part of the tape, and that part differs from day to day, all of the day's total is in doubt,
/// what has traded too: the total is the whole tape's, counted in usual shares of the feed, and may lie below `so_far`.
class DayTotal {
 public:
  DayTotal(const DayPlan& plan, const RemainderForecast& forecast);

  /// Quantile, shares; `t` being that of the errors' distribution (skewed_t8_inverse).
  [[nodiscard]] double at(double t) const;
  /// Of ending at or above `wanted` (above 0) shares.
  [[nodiscard]] double odds(double wanted) const;

 private:
  RemainderForecast forecast_;
  bool in_doubt_ = false;
  double middle_ = 0, spread_ = 0;  ///< of ln(total), where all of it is in doubt
};

}  // namespace brimwatch
