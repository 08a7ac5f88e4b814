#pragma once
// Odds curves from the user's own crossings, drawn towards the shipped ones. Pure.
#include <span>

#include "crossings/odds.h"

namespace brimwatch {

constexpr int kFitLeast = 200;           ///< crossings without which no curve of the user's own is made
constexpr double kShippedWeight = 1000;  ///< crossings that the shipped curve counts for beside the user's own

struct OddsExample {
  double ordinary_move = 0;  ///< %
  bool came = false;
};

/// The logistic curve of greatest posterior likelihood: the user's examples, and the prior as if `weight` more crossings
/// with the same ordinary moves had come out just as it says. With no examples, the prior.
[[nodiscard]] OddsCurve fit_curve(std::span<const OddsExample> examples, const OddsCurve& prior,
                                  double weight = kShippedWeight);

}  // namespace brimwatch
