#include "planted.h"

namespace brimwatch::testing_support {
namespace {

std::vector<Leg> legs_of(BaseKind kind, FatTails& random, double rim, double& peak) {
  const double depth = std::log(1 - random.uniform(0.18, 0.28));
  const int side = random.whole(12, 22);
  switch (kind) {
    case BaseKind::cup_with_handle: {
      const double right = rim + random.uniform(-0.05, -0.01);
      // The whole handle in the upper half of the cup, or it would not be the base it is called.
      const double handle = std::max(right + std::log(1 - random.uniform(0.05, 0.09)), rim + 0.40 * depth);
      peak = right;
      return {{side, rim + depth, 0.9},
              {random.whole(8, 18), rim + depth + 0.01, 0.7},
              {side, right, 0.9},
              {random.whole(5, 9), handle, 0.55},
              {random.whole(3, 6), handle + 0.02, 0.55}};
    }
    case BaseKind::cup:
      // The right side is still climbing on the last day, close under the rim.
      peak = rim;
      return {{side, rim + depth, 0.9},
              {random.whole(8, 18), rim + depth + 0.01, 0.7},
              {side, rim + random.uniform(-0.03, -0.015), 0.9}};
    case BaseKind::no_base:
      // A high and a fall from it, too short for any shape.
      peak = rim;
      return {{random.whole(7, 15), rim + std::log(1 - random.uniform(0.05, 0.12)), 0.8}};
    case BaseKind::double_bottom: {
      const double middle = rim + depth * random.uniform(0.25, 0.45),
                   second = rim + depth + std::log(random.uniform(0.96, 0.995));
      peak = middle;
      return {
          {side, rim + depth, 0.9}, {side, middle, 0.8}, {side, second, 0.7}, {random.whole(8, 12), middle - 0.03, 0.6}};
    }
    case BaseKind::flat_base: {
      const double low = rim + std::log(1 - random.uniform(0.06, 0.11));
      peak = rim;
      return {{random.whole(7, 10), low, 0.8},
              {random.whole(7, 10), rim - 0.02, 0.8},
              {random.whole(7, 10), low + 0.02, 0.6},
              {random.whole(6, 10), rim - 0.03, 0.55}};
    }
  }
  return {};
}

}  // namespace

Planted plant(BaseKind kind, double noise, std::uint64_t seed) {
  FatTails random(seed);
  Planted out;
  out.kind = kind;
  const double rim = std::log(50.0);
  double peak = 0;
  std::vector<Leg> legs = {{120, rim - 0.55, 1.0}, {random.whole(60, 100), rim, 1.3}};
  const auto base = legs_of(kind, random, rim, peak);
  legs.insert(legs.end(), base.begin(), base.end());
  out.peak = std::exp(peak);
  std::vector<double> closes, volume;
  double level = rim - 0.5, wander = 0;
  for (std::size_t leg = 0; leg < legs.size(); ++leg) {
    const double from = level;
    for (int i = 1; i <= legs[leg].sessions; ++i) {
      level = from + (legs[leg].to - from) * i / legs[leg].sessions;
      wander =
          0.8 * wander + random.step(noise * 0.6);  // strays from the path and comes back: standard deviation `noise`
      closes.push_back(std::exp(level + wander));
      volume.push_back(1e6 * legs[leg].volume);
    }
    if (leg == 1) out.start = static_cast<int>(closes.size()) - 1;
  }
  out.bars = bars_along(closes, volume, noise, random);
  return out;
}

}  // namespace brimwatch::testing_support
