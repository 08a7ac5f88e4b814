#pragma once
// In what units and words a source writes: how times are written, prices without their point, sizes in lots, what is put
// around a symbol, the words for conditions, exchanges and trading status. Pure.
#include <string>
#include <vector>

#include "adapters/guessing/layout.h"
#include "adapters/guessing/proposal.h"

namespace brimwatch {

/// Fills the keys beside the fields, with their evidence, and what has to be asked.
void find_units(const std::vector<Record>& records, Proposal& into);

}  // namespace brimwatch
