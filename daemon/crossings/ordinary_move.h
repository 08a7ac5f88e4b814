#pragma once
// How much a stock usually moves from close to close: the one number known at the weekend that says something of what
// follows a crossing. Pure.
#include <optional>
#include <span>

#include "core/daily.h"

namespace brimwatch {

constexpr int kMoveSessions = 252;  ///< a year of sessions
constexpr int kMoveLeast = 50;      ///< with fewer nothing is said
constexpr double kMoveCap = 5;      ///< times the median: a bad print weighs no more

struct OrdinaryMove {
  double percent = 0;  ///< 100 x the mean of min(|r|, 5 x median |r|), r = ln(close / close before)
  int sessions = 0;    ///< how many r there were, at most kMoveSessions
};

/// Of the sessions that end at bar `last`; empty with fewer than kMoveLeast, or where no close has moved.
[[nodiscard]] std::optional<OrdinaryMove> ordinary_move(std::span<const DailyBar> bars, int last);

/// How many ordinary moves (in percent) the pivot stands above the close; negative: under it.
[[nodiscard]] double moves_between(Price close, Price pivot, double ordinary_move);

}  // namespace brimwatch
