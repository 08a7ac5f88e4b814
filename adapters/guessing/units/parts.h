#pragma once
// One unit, or one set of words, a function: what the values say of it becomes a key of the mapping, with its evidence.
// Pure.
#include "adapters/guessing/units/findings.h"

namespace brimwatch {

/// How times are written; where they name no zone, which it is.
void find_times(UnitFindings& into);
/// Prices without their point.
void find_price_scale(UnitFindings& into);
/// Whether sizes, or the day's volume, are in lots.
void find_lots(UnitFindings& into);
/// What stands around a ticker in the source's symbols.
void find_symbol_form(UnitFindings& into);
/// The source's words for the trading status, and for sale conditions and exchanges.
void find_status_words(UnitFindings& into);
void find_conditions(UnitFindings& into);
void find_exchanges(UnitFindings& into);
/// Flags of trades that no key reads, such as one for extended hours: said, with what to write.
void find_flags(UnitFindings& into);
/// A number that counts every message of the sample up by one, or every frame.
void find_sequence(UnitFindings& into);

}  // namespace brimwatch
