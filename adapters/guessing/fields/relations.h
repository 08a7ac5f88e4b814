#pragma once
// Fields that what columns are to each other tells: one rises by the other, one is never under the others. Pure.
#include "adapters/guessing/fields/fitter.h"

namespace brimwatch {

/// A total that rises by just what another value says proves both: the day's volume and the trade's size.
void take_rising_pair(FieldsInHand& hand, Fitter& fitter);
/// A flag that is set just where fewer shares than a round lot were traded says that the trade is an odd lot.
void take_odd_lot(FieldsInHand& hand);
/// Of two prices side by side the lower is the bid.
void take_spread(FieldsInHand& hand);
/// Sizes without a name of their own stand in the order of the prices.
void take_sizes(FieldsInHand& hand);
/// Of four prices the one never under the others is the high; the close begins the next bar.
void take_range(FieldsInHand& hand);

}  // namespace brimwatch
