#include "volume/students_t.h"

#include <cmath>
#include <limits>

namespace brimwatch {
namespace {

// With s = |x| / sqrt(8 + x^2) the density in s is 35/32 (1 - s^2)^3, a polynomial. Integrated from s to 1, in e = 1 - s,
// it gives the tail without subtracting nearly equal numbers.
double tail_of(double e) { return 35.0 / 32.0 * e * e * e * e * (2 + e * (-2.4 + e * (1 - e / 7))); }

double tail_slope(double e) {
  const double b = e * (2 - e);
  return 35.0 / 32.0 * b * b * b;
}

/// e in (0, 1] with tail_of(e) = p, for 0 < p <= 0.5. Newton in the logarithms, where the curve is nearly straight.
double solve_tail(double p) {
  double e = std::pow(16.0 / 35.0 * p, 0.25);
  for (int i = 0; i < 30; ++i) {
    const double tail = tail_of(e);
    const double step = std::log(tail / p) * tail / (e * tail_slope(e));
    e = std::fmin(e * std::exp(-step), 1.0);
    if (std::fabs(step) < 1e-15) break;
  }
  return e;
}

}  // namespace

double t8_cdf(double x) {
  if (std::isnan(x)) return 0.5;
  if (std::fabs(x) > 1e100) return x > 0 ? 1 : 0;
  const double root = std::sqrt(8 + x * x);
  const double tail = tail_of(8 / (root * (root + std::fabs(x))));
  return x > 0 ? 1 - tail : tail;
}

double t8_inverse(double p) {
  if (std::isnan(p) || p == 0.5) return 0;
  if (p <= 0) return -std::numeric_limits<double>::infinity();
  if (p >= 1) return std::numeric_limits<double>::infinity();
  const double e = solve_tail(p < 0.5 ? p : 1 - p);
  const double x = (1 - e) * std::sqrt(8 / (e * (2 - e)));
  return p < 0.5 ? -x : x;
}

double skewed_t8_cdf(double x) { return t8_cdf(x < 0 ? x / (1 - kSkew) : x / (1 + kSkew)); }

double skewed_t8_inverse(double p) {
  const double x = t8_inverse(p);
  return x < 0 ? x * (1 - kSkew) : x * (1 + kSkew);
}

}  // namespace brimwatch
