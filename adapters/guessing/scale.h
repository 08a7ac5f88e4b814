#pragma once
// How prices without their point are scaled: by what the source says of it somewhere, or by their last digits. Pure.
#include <string>
#include <vector>

#include "adapters/guessing/kinds.h"

namespace brimwatch {

struct ScaleGuess {
  int decimals = 0;  ///< 0: the prices need none
  Sure sure = Sure::likely;
  std::string why;
  std::string question;  ///< what has to be asked; empty: nothing
};

[[nodiscard]] ScaleGuess guess_scale(const std::vector<Record>& records, const std::vector<SortGuess>& sorts);

}  // namespace brimwatch
