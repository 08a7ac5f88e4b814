#pragma once
// The weekend's odds measured on the user's own bars: at every second weekend of their history the watches that would
// have been made, of bases and of plain 50-day highs, and what came of each. Reads files, writes none.
#include <string>
#include <vector>

#include "crossings/grading.h"
#include "weekend/prepare.h"

namespace brimwatch {

struct Graded {
  int files = 0, stocks = 0, unreadable = 0;
  int short_history = 0;                    ///< stocks with fewer than 253 sessions before and 71 after any weekend
  int doubtful = 0;                         ///< watches left out for an unreported split, or another unit, near them
  Date from, to;                            ///< first and last weekend that gave a watch
  std::vector<WeekendWatch> listed, plain;  ///< by weekend, then as the files stand
};

/// Of the input, places, symbol, events, as_of, last_over, book and threads count. Every Friday that is a whole number of
/// fortnights from 2013-09-06.
[[nodiscard]] Result<Graded> grade(const PrepareInput& input);

/// Said against came, for a person.
[[nodiscard]] std::string in_words(const Graded& graded, const OddsBook& book);
/// One object. Keys: from, to, stocks, doubtful, odds_from, listed and plain {watches, crossed, bought, cross_in_5,
/// cross_in_5_area, up20_first, down8_first, held, surge, each of the last four {share, half}}, up20_first and
/// down8_first {area, brier, own_brier, with_own, fifths [{move_least, move_most, said, own, came, half}]} of the plain
/// ones.
[[nodiscard]] std::string to_json(const Graded& graded, const OddsBook& book);

/// [prepare] with the user's own curves, ready for --rules; an error where there are too few crossings.
[[nodiscard]] Result<std::string> fitted_rules(const Graded& graded);

}  // namespace brimwatch
