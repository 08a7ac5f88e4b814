#include "config/reading/key_place.h"

#include <charconv>

namespace brimwatch {
namespace {

/// "[2]" counts from one. Null: there is no such item.
const Value* item_of(const Value& list, std::string_view number) {
  std::size_t at = 0;
  const auto [end, error] = std::from_chars(number.data(), number.data() + number.size(), at);
  if (error != std::errc{} || at == 0 || at > list.items.size()) return nullptr;
  return &list.items[at - 1];
}

}  // namespace

Place place_of_key(const Value& table, std::string_view text) {
  std::string_view path = text.substr(0, text.find(": "));
  const Value* at = &table;
  Place place = table.place;
  while (!path.empty()) {
    const bool is_number = path.front() == '[';
    const std::size_t end = is_number ? path.find(']') : path.find_first_of(".[");
    const std::string_view name = path.substr(is_number ? 1 : 0, end == path.npos ? end : end - (is_number ? 1 : 0));
    const Entry* entry = is_number ? nullptr : at->find(name);
    at = is_number ? item_of(*at, name) : entry != nullptr ? &entry->value : nullptr;
    if (at == nullptr) return place;
    place = is_number ? at->place : entry->place;
    if (end == path.npos) return place;
    path.remove_prefix(is_number || path[end] == '.' ? end + 1 : end);
    if (is_number && !path.empty() && path.front() == '.') path.remove_prefix(1);
  }
  return place;
}

}  // namespace brimwatch
