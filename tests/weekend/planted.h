#pragma once
// Bases whose truth is known: an advance, a base of a given kind drawn along straight legs, and noise of a given size
// over all of it. Volume is high on the advance, falls through the base, and is light at its end.
#include <array>
#include <string>
#include <vector>

#include "series.h"

namespace brimwatch::testing_support {

struct Planted {
  BaseKind kind = BaseKind::flat_base;
  std::vector<DailyBar> bars;
  int start = 0;    ///< bar of the rim
  double peak = 0;  ///< price of the pivot's peak without noise
};

/// Legs of a path: so many sessions to that level (natural log), with volume as a share of normal.
struct Leg {
  int sessions;
  double to;
  double volume;
};

/// `noise`: standard deviation of each close around the path, as a share; 0.01 is a calm stock, 0.03 a wild one.
[[nodiscard]] Planted plant(BaseKind kind, double noise, std::uint64_t seed);

}  // namespace brimwatch::testing_support
