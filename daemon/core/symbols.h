#pragma once
// Symbols as small numbers, so that a tick carries four bytes and tables are arrays.
#include <cstdint>
#include <deque>
#include <limits>
#include <string>
#include <string_view>
#include <unordered_map>

namespace brimwatch {

using SymbolId = std::uint32_t;
constexpr SymbolId kNoSymbol = std::numeric_limits<SymbolId>::max();

/// Grows only; ids are 0, 1, 2 ... in the order of first sight. Not thread-safe: one owner (the engine's thread).
/// Names stay where they are, so a view of one lives as long as the table.
class SymbolTable {
 public:
  SymbolId intern(std::string_view name);
  [[nodiscard]] SymbolId find(std::string_view name) const;  ///< kNoSymbol when never seen
  [[nodiscard]] std::string_view name(SymbolId id) const {
    return id < names_.size() ? std::string_view(names_[id]) : "";
  }
  [[nodiscard]] std::size_t size() const { return names_.size(); }

 private:
  std::deque<std::string> names_;
  std::unordered_map<std::string_view, SymbolId> ids_;
};

}  // namespace brimwatch
