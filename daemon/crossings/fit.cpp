#include "crossings/fit.h"

#include <cmath>

namespace brimwatch {
namespace {

/// Gradient and (negative) curvature of the log-likelihood in level and move.
struct Slope {
  double level = 0, move = 0, level2 = 0, both = 0, move2 = 0;
};

/// Each example, and beside it `shadow` of one more that came out as the prior says.
Slope slope_at(std::span<const OddsExample> examples, const OddsCurve& curve, const OddsCurve& prior, double shadow) {
  Slope out;
  for (const OddsExample& one : examples) {
    const double x = 1 / one.ordinary_move, p = curve.at(one.ordinary_move);
    const double off = (one.came ? 1.0 : 0.0) - p + shadow * (prior.at(one.ordinary_move) - p);
    const double weight = (1 + shadow) * p * (1 - p);
    out.level += off;
    out.move += off * x;
    out.level2 += weight;
    out.both += weight * x;
    out.move2 += weight * x * x;
  }
  return out;
}

}  // namespace

OddsCurve fit_curve(std::span<const OddsExample> examples, const OddsCurve& prior, double weight) {
  OddsCurve curve = prior;
  if (examples.empty()) return curve;
  const double shadow = weight / static_cast<double>(examples.size());
  for (int round = 0; round < 50; ++round) {
    const Slope s = slope_at(examples, curve, prior, shadow);
    const double determinant = s.level2 * s.move2 - s.both * s.both;
    if (!(determinant > 1e-9 * s.level2 * s.move2)) return prior;  // all of one ordinary move: nothing tells two numbers
    const double level = (s.move2 * s.level - s.both * s.move) / determinant;
    const double move = (s.level2 * s.move - s.both * s.level) / determinant;
    curve.level += level;
    curve.move += move;
    if (std::abs(level) + std::abs(move) < 1e-12) break;
  }
  return curve;
}

}  // namespace brimwatch
