#include "tape/symbol_cache.h"

#include <algorithm>
#include <bit>
#include <utility>

namespace brimwatch {
namespace {

constexpr std::size_t kFirstLines = 256;

std::uint64_t pack(std::string_view text) {
  std::uint64_t key = 0;
  for (std::size_t i = 0; i < text.size(); ++i)
    key |= static_cast<std::uint64_t>(static_cast<unsigned char>(text[i])) << (8 * i);
  return key;
}

}  // namespace

bool is_symbol(std::string_view text) {
  if (text.empty() || text.size() > SymbolCache::kLongest || text.front() == ' ' || text.back() == ' ') return false;
  return std::none_of(text.begin(), text.end(),
                      [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == '\x7F'; });
}

SymbolCache::SymbolCache(SymbolTable& table) : table_(table), lines_(kFirstLines) {
  mask_ = kFirstLines - 1;
  shift_ = 64 - std::countr_zero(kFirstLines);
}

SymbolId SymbolCache::resolve(std::string_view text) {
  const bool packable = !text.empty() && text.size() <= 8 && text.back() != '\0';  // else "A" and "A\0" would be one key
  const std::uint64_t key = packable ? pack(text) : 0;
  if (key != 0) {
    const SymbolId known = find_packed(key);
    if (known != kNoSymbol) return known;
  }
  if (!is_symbol(text)) return kNoSymbol;
  SymbolId id = table_.find(text);
  if (id == kNoSymbol) {
    if (table_.size() >= kMost) return kNoSymbol;
    id = table_.intern(text);
  }
  if (key != 0) insert(key, id);
  return id;
}

void SymbolCache::insert(std::uint64_t key, SymbolId id) {
  if (2 * (used_ + 1) > 4 * lines_.size()) grow();
  for (std::size_t i = home(key);; i = (i + 1) & mask_) {
    for (std::size_t k = 0; k < 4; ++k) {
      if (lines_[i].keys[k] != 0) continue;
      lines_[i].keys[k] = key;
      lines_[i].ids[k] = id;
      ++used_;
      return;
    }
  }
}

void SymbolCache::grow() {
  const std::vector<Line> old = std::exchange(lines_, std::vector<Line>(lines_.size() * 2));
  mask_ = lines_.size() - 1;
  --shift_;
  used_ = 0;
  for (const Line& line : old) {
    for (std::size_t k = 0; k < 4; ++k) {
      if (line.keys[k] != 0) insert(line.keys[k], line.ids[k]);
    }
  }
}

}  // namespace brimwatch
