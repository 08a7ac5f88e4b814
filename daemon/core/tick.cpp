#include "core/tick.h"

#include <charconv>

namespace brimwatch {

Conditions Conditions::of(std::string_view text, bool* overflow) {
  Conditions out;
  std::size_t used = 0;
  bool more = false;
  for (const char c : text) {
    if (c == ' ') continue;
    if (used == out.codes.size()) {
      more = true;
      break;
    }
    out.codes[used++] = c;
  }
  if (overflow != nullptr) *overflow = more;
  return out;
}

std::string_view Conditions::view() const {
  std::size_t used = 0;
  while (used < codes.size() && codes[used] != '\0') ++used;
  return {codes.data(), used};
}

std::uint64_t trade_id_of(std::string_view text) {
  if (text.empty()) return 0;
  std::uint64_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error == std::errc() && end == text.data() + text.size()) return number;
  std::uint64_t hash = 14695981039346656037ULL;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211ULL;
  return hash;
}

}  // namespace brimwatch
