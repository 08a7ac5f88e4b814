#pragma once
// Student's t distribution with 8 degrees of freedom, in closed form. Total functions, exact to a few ulps in both tails.

namespace brimwatch {

/// P(T <= x); 0 and 1 for infinities, 0.5 for what is not a number.
[[nodiscard]] double t8_cdf(double x);

/// x with P(T <= x) = p; -inf for p <= 0, +inf for p >= 1, 0 for what is not a number.
[[nodiscard]] double t8_inverse(double p);

}  // namespace brimwatch
