#pragma once
// What the source itself calls the places of its lists: given to the columns, and the line that says it. Pure.
#include <vector>

#include "adapters/guessing/kinds.h"

namespace brimwatch {

/// Only where there are as many places as names; of several such lists that which stands under the sort's own word.
void give_names(Table& table, const Sort& sort, const std::vector<PlaceNames>& lists);

/// The message is itself a list of the names.
[[nodiscard]] bool is_line_of_names(const Table& table, const std::vector<PlaceNames>& lists);

/// "" where there is none.
[[nodiscard]] std::string first_text(const PointerColumn& column);

}  // namespace brimwatch
