#pragma once
// Shares of many crossings, with intervals that know that crossings of one month come out alike. Pure.
#include <span>
#include <vector>

#include "core/text/timestamp.h"
#include "crossings/crossing.h"

namespace brimwatch {

/// One crossing in a tally: the day it fell on, and whether the thing came.
struct Counted {
  Date day;
  bool came = false;
};

struct ClusteredShare {
  int count = 0;
  double share = 0;  ///< 0..1
  double half = 0;   ///< 1.96 standard errors, clustered by month; 0 with fewer than two months
};

[[nodiscard]] ClusteredShare share_by_month(std::span<const Counted> counted);

/// Area under the ROC curve: how often one that came had been given more than one that did not, ties by half (Mann and
/// Whitney, 1947); 0.5 where all came or none did.
struct Forecast {
  double said = 0;
  bool came = false;
};
[[nodiscard]] double area_under_curve(std::vector<Forecast> forecasts);

/// Mean squared error (Brier, 1950).
[[nodiscard]] double brier(std::span<const Forecast> forecasts);

}  // namespace brimwatch
