#pragma once
// How near a base is to its pivot and what followed crossings by stocks that move so. Pure.
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "config/prepare_rules.h"
#include "core/daily.h"
#include "crossings/odds.h"
#include "crossings/ordinary_move.h"

namespace brimwatch {

/// Chances are fractions, 0 to 1.
struct Outlook {
  OrdinaryMove move;
  double moves_to_pivot = 0;  ///< ordinary moves from the last close up to the pivot
  double cross_in_5 = 0;      ///< the pivot is reached within five sessions
  double up20_first = 0;      ///< of crossings: 20 % up from the entry before 8 % down
  double down8_first = 0;     ///< the reverse
};

[[nodiscard]] OddsBook odds_book(const RuleBook& book);

/// Of the last of `bars`; empty where the history is too short for an ordinary move.
[[nodiscard]] std::optional<Outlook> outlook_of(std::span<const DailyBar> bars, Price pivot, const OddsBook& odds);

/// Sentences for a person, a line each: nearness; what followed such crossings, beside the base rates; how far to trust
/// it.
[[nodiscard]] std::vector<std::string> outlook_lines(const Outlook& outlook, const OddsBook& odds);

}  // namespace brimwatch
