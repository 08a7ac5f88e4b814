#include "core/shares.h"

#include <cmath>
#include <cstdio>
#include <string>

namespace brimwatch {

std::string brief(double count) {
  struct Unit {
    double size;
    char letter;
  };
  constexpr Unit kUnits[] = {{1e9, 'B'}, {1e6, 'M'}, {1e3, 'k'}};
  char text[32];
  for (const Unit& unit : kUnits) {
    if (count < unit.size * 0.9995) continue;
    const double scaled = count / unit.size;
    const int decimals = scaled < 9.995 ? 2 : scaled < 99.95 ? 1 : 0;
    std::snprintf(text, sizeof text, "%.*f%c", decimals, scaled, unit.letter);
    return text;
  }
  std::snprintf(text, sizeof text, "%.0f", count);
  return text;
}

std::optional<Shares> parse_brief_shares(std::string_view text) {
  std::string digits;
  std::int64_t scale = 1;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (c == '_') continue;
    const bool last = i + 1 == text.size();
    if (last && (c == 'k' || c == 'K')) scale = 1'000;
    else if (last && (c == 'm' || c == 'M')) scale = 1'000'000;
    else if (last && (c == 'b' || c == 'B')) scale = 1'000'000'000;
    else digits += c;
  }
  const auto micros = parse_micros(digits, Extra::refuse);
  if (!micros || *micros < 0 || *micros > INT64_MAX / scale) return std::nullopt;
  return Shares{*micros * scale};
}

}  // namespace brimwatch
