#pragma once
// Student's t distribution with 8 degrees of freedom, in closed form. Total functions, exact to a few ulps in both tails.

namespace brimwatch {

/// P(T <= x); 0 and 1 for infinities, 0.5 for what is not a number.
[[nodiscard]] double t8_cdf(double x);

/// x with P(T <= x) = p; -inf for p <= 0, +inf for p >= 1, 0 for what is not a number.
[[nodiscard]] double t8_inverse(double p);

/// Errors of the volume to come lean to the right: a day can turn into an event, never into the reverse of one. The same
/// distribution with its right half stretched to 1 + kSkew and its left half drawn in to 1 - kSkew; the median stays 0
/// and the mean becomes kSkewMean. kSkew was chosen on hour bars of 1998-2008.
constexpr double kSkew = 0.12;
constexpr double kSkewMean = kSkew * 0.8838834764831844;  ///< E|T| = 25 sqrt(2) / 40
[[nodiscard]] double skewed_t8_cdf(double x);
[[nodiscard]] double skewed_t8_inverse(double p);

}  // namespace brimwatch
