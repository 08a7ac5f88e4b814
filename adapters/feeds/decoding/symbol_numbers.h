#pragma once
// Numbers that stand for symbols, as the source names them on the way. Bounded.
#include <map>
#include <string>
#include <string_view>

namespace brimwatch {

class SymbolNumbers {
 public:
  /// False when there are too many; one that is named again stands for the new symbol.
  [[nodiscard]] bool name(std::string_view number, std::string_view symbol) {
    const auto found = symbols_.find(number);
    if (found != symbols_.end()) return found->second = symbol, true;
    if (symbols_.size() >= kMost) return false;
    symbols_.emplace(number, symbol);
    return true;
  }

  /// The source's name of the symbol; `text` itself where it is no number that was named.
  [[nodiscard]] std::string_view resolved(std::string_view text) const {
    const auto found = symbols_.find(text);
    return found == symbols_.end() ? text : std::string_view(found->second);
  }

 private:
  static constexpr std::size_t kMost = 200'000;
  std::map<std::string, std::string, std::less<>> symbols_;
};

}  // namespace brimwatch
