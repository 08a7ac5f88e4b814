#pragma once
// Pointers that read the first entry of a list where messages have more: the others would be lost in silence. Pure.
#include <string>
#include <vector>

#include "adapters/guessing/kinds.h"

namespace brimwatch {

/// Such fields of trades and bars are no longer sure; gives what has to be asked.
[[nodiscard]] std::vector<std::string> doubt_first_entries(const std::vector<Record>& records,
                                                           std::vector<SortGuess>& guesses);

}  // namespace brimwatch
