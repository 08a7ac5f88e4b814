#include "adapters/guessing/units.h"

#include "adapters/guessing/units/parts.h"

namespace brimwatch {

void find_units(const std::vector<Record>& records, Proposal& into) {
  UnitFindings found(records, into);
  find_times(found);
  find_price_scale(found);
  find_lots(found);
  find_symbol_form(found);
  find_status_words(found);
  find_conditions(found);
  find_exchanges(found);
  find_flags(found);
  find_sequence(found);
}

}  // namespace brimwatch
