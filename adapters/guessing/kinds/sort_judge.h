#pragma once
// What one sort of message is, judged by its word and by the fields that can be found in it. Pure.
#include "adapters/guessing/kinds/in_hand.h"

namespace brimwatch {

[[nodiscard]] SortGuess judge_sort(SortsInHand& hand, std::size_t i);

}  // namespace brimwatch
