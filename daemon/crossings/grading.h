#pragma once
// What was said of crossings against what came of them: base rates, and fifths by ordinary move, each year said by a
// curve of the years before it. Pure.
#include <array>
#include <optional>
#include <span>
#include <vector>

#include "crossings/crossing.h"
#include "crossings/fit.h"
#include "crossings/tally.h"

namespace brimwatch {

/// Of many watches. The three shares below are of those that were bought.
struct WatchRates {
  int watches = 0, crossed = 0, bought = 0;
  double within_5 = 0;       ///< share of the watches that crossed within five sessions
  double within_5_area = 0;  ///< area under the curve of nearness in ordinary moves
  ClusteredShare up20, down8, held, surge;
};

[[nodiscard]] WatchRates base_rates(std::span<const WeekendWatch> watches);

/// A fifth of the crossings, by ordinary move. Shares 0..1.
struct SaidAndCame {
  double move_least = 0, move_most = 0;  ///< %
  double said = 0;                       ///< by the book's curve
  double own = 0;                        ///< by the curve fitted to the years before each crossing
  ClusteredShare came;
};

struct CurveGrade {
  std::vector<SaidAndCame> fifths;       ///< five, or none with too few crossings
  double area = 0.5;                     ///< under the curve of what was said
  double said_error = 0, own_error = 0;  ///< Brier scores
  int with_own = 0;                      ///< crossings that a curve of their own past spoke of
};

/// `which` is the end that the curve tells of.
[[nodiscard]] CurveGrade grade_curve(std::span<const WeekendWatch> watches, CameFirst which, const OddsCurve& book,
                                     const OddsCurve& prior);

/// Curves from all crossings that were bought, drawn towards the shipped ones; empty with fewer than kFitLeast.
[[nodiscard]] std::optional<OddsBook> fit_book(std::span<const WeekendWatch> watches);

}  // namespace brimwatch
