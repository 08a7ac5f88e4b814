#include "config/symbol_meant.h"

#include <algorithm>

namespace brimwatch {

std::string symbol_meant(const WatchList& watches, const std::string& written) {
  const auto small = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; };
  const auto same = [&](const std::string& symbol) {
    return std::equal(symbol.begin(), symbol.end(), written.begin(), written.end(),
                      [&](char a, char b) { return small(a) == small(b); });
  };
  const auto& symbols = watches.symbols();
  if (std::find(symbols.begin(), symbols.end(), written) != symbols.end()) return written;
  const auto first = std::find_if(symbols.begin(), symbols.end(), same);
  if (first == symbols.end() || std::find_if(first + 1, symbols.end(), same) != symbols.end()) return written;
  return *first;
}

}  // namespace brimwatch
