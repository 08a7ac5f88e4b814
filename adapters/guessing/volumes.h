#pragma once
// Volume that a source tells more than once: bars beside trades, bars of two lengths, each trade in two messages. What
// the sums over the same intervals say of it decides; where they do not agree it is asked which is to be counted. Pure.
#include <vector>

#include "adapters/guessing/kinds.h"

namespace brimwatch {

/// Passes over (kind: ignore) what would count twice, with its evidence, and a question where the figures leave a doubt.
void count_volume_once(const std::vector<Record>& records, std::vector<SortGuess>& guesses);

}  // namespace brimwatch
