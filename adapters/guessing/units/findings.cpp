#include "adapters/guessing/units/findings.h"

namespace brimwatch {

std::vector<const Leaf*> UnitFindings::values_at(const SortGuess& guess, Field field) const {
  std::vector<const Leaf*> out;
  const auto found = guess.fields.find(field);
  if (found == guess.fields.end()) return out;
  for (const std::size_t i : guess.sort.records) {
    const Leaf* leaf = records_[i].find(found->second.pointer);
    if (leaf != nullptr && leaf->kind != Leaf::Kind::nothing) out.push_back(leaf);
  }
  return out;
}

}  // namespace brimwatch
