#pragma once
// One line of a review retraced: every number that goes into it, from what was on the tape to the figure. Pure.
#include <string>
#include <vector>

#include "core/tick.h"
#include "evening/review.h"

namespace brimwatch {

/// Trades of a crossing's symbol on the tape round its time, in order; empty: no tape was given.
using TradesAround = std::vector<Tick>;

/// In plain text, for one crossing.
[[nodiscard]] std::string why_in_words(const Crossing& one, const ReviewInput& input, const TradesAround& trades);

}  // namespace brimwatch
