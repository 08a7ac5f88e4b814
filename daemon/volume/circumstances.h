#pragma once
// What moves a projection besides the table of coefficients.h: an opening gap, a thin stock, the weekday, how far the
// surprise goes, an old high that was crossed. All are shifts of ln(volume to come). Measured on held-out stocks;
// README.md says on what, and what did not help. Pure.
#include "volume/projection.h"

namespace brimwatch {

/// How thin a stock is: 0 from 400,000 shares of a normal day (of the whole tape) up, 1 from 100,000 down, by the
/// logarithm between. A stock so dear that its normal day is worth more than $20 million is not thin; `price` 0: unknown.
[[nodiscard]] double thinness(double normal, double price);

/// How wide the errors of a symbol are before anything was learned of them, against those of a liquid stock: by its
/// normal volume, shares of the whole tape; 0: unknown.
[[nodiscard]] double first_kappa(double normal);

/// Gap, bend, weekday and thinness together. `surprise`: ln of what has traded over what was expected, before its slope.
[[nodiscard]] double circumstance_shift(const DayPlan& plan, double minutes_of_390, double surprise);

/// A gap leaves more to doubt in the first half-hour: factor on the spread.
[[nodiscard]] double gap_widening(const DayPlan& plan, double minutes_of_390);

constexpr double kCrossingLasts = 60;  ///< minutes after which nothing is left of it

/// Volume that comes because an old high was crossed, `minutes_since` ago; it halves in eight minutes. `lift` is a share
/// of the day (below 0: less comes, but half of it at least), `left` the share of the day to come. 0 where
/// `minutes_since` is negative or not a number: not crossed.
[[nodiscard]] double crossing_shift(double lift, double minutes_since, double left);

}  // namespace brimwatch
