#include "tape/symbol_cache.h"

#include <algorithm>
#include <bit>
#include <utility>

namespace brimwatch {
namespace {

constexpr std::size_t kFirstSlots = 1024;

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

SymbolCache::SymbolCache(SymbolTable& table) : table_(table), slots_(kFirstSlots) {
  mask_ = kFirstSlots - 1;
  shift_ = 64 - std::countr_zero(kFirstSlots);
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
  if (2 * (used_ + 1) > slots_.size()) grow();
  std::size_t i = home(key);
  while (slots_[i].key != 0) i = (i + 1) & mask_;
  slots_[i] = {key, id};
  ++used_;
}

void SymbolCache::grow() {
  std::vector<Slot> old = std::exchange(slots_, std::vector<Slot>(slots_.size() * 2));
  mask_ = slots_.size() - 1;
  --shift_;
  used_ = 0;
  for (const Slot& slot : old) {
    if (slot.key != 0) insert(slot.key, slot.id);
  }
}

}  // namespace brimwatch
