#pragma once
// What sorts of messages say of each other, after each was judged by itself. Pure.
#include "adapters/guessing/kinds/in_hand.h"

namespace brimwatch {

/// Orders look like trades: a side, a price, a size, a number. But they are taken back by the dozen, by their numbers,
/// and the trades come besides.
void find_orders(SortsInHand& hand);
/// A number that stands beside each symbol, always the same, stands for it in messages that name no symbol.
void find_numbers(SortsInHand& hand);
/// Where the trades have a value, other messages have it too, unless they say otherwise.
void judge_again_by_usual(SortsInHand& hand);
/// A message that names the number of an earlier trade takes it back, or puts it right.
void find_taken_back(SortsInHand& hand);
/// Numbers that stand for symbols elsewhere, beside names: they name them.
void find_namings(SortsInHand& hand);
/// Volume that is told twice is passed over once.
void count_once(SortsInHand& hand);

}  // namespace brimwatch
