#pragma once
// The values of a column as texts. Pure.
#include <set>
#include <string>

#include "adapters/guessing/behaviour.h"

namespace brimwatch {

[[nodiscard]] inline std::set<std::string> texts_of(const PointerColumn& column) {
  std::set<std::string> out;
  for (const Leaf* leaf : column.cells) {
    if (leaf != nullptr && leaf->kind != Leaf::Kind::nothing) out.insert(leaf->text);
  }
  return out;
}

}  // namespace brimwatch
