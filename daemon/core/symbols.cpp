#include "core/symbols.h"

namespace brimwatch {

SymbolId SymbolTable::intern(std::string_view name) {
  const auto found = ids_.find(name);
  if (found != ids_.end()) return found->second;
  const auto id = static_cast<SymbolId>(names_.size());
  names_.emplace_back(name);
  ids_.emplace(names_.back(), id);
  return id;
}

SymbolId SymbolTable::find(std::string_view name) const {
  const auto found = ids_.find(name);
  return found == ids_.end() ? kNoSymbol : found->second;
}

}  // namespace brimwatch
