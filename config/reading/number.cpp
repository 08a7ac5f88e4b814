#include "config/reading/number.h"

#include <charconv>
#include <string>

#include "core/price.h"

namespace brimwatch {
namespace {

/// "4.835", 1 -> "48.35": moves the point in the text.
std::string move_point(const std::string& digits, int places) {
  const std::size_t dot = digits.find('.');
  std::string all = digits;
  long point = static_cast<long>(dot == std::string::npos ? digits.size() : dot) + places;
  if (dot != std::string::npos) all.erase(dot, 1);
  while (point < 0) {
    all.insert(0, 1, '0');
    ++point;
  }
  while (static_cast<std::size_t>(point) > all.size()) all += '0';
  all.insert(static_cast<std::size_t>(point), 1, '.');
  return all;
}

}  // namespace

std::optional<std::int64_t> micros_of(std::string_view token) {
  constexpr std::size_t kLongest = 64;
  if (token.empty() || token.size() > kLongest) return std::nullopt;
  const bool negative = token.front() == '-';
  if (negative || token.front() == '+') token.remove_prefix(1);
  std::string digits;
  int exponent = 0;
  for (std::size_t i = 0; i < token.size(); ++i) {
    if (token[i] == '_') continue;
    if (token[i] == 'e' || token[i] == 'E') {
      std::string_view rest = token.substr(i + 1);
      if (!rest.empty() && rest.front() == '+') rest.remove_prefix(1);
      const auto [end, failure] = std::from_chars(rest.data(), rest.data() + rest.size(), exponent);
      if (failure != std::errc() || end != rest.data() + rest.size() || exponent > 30 || exponent < -30)
        return std::nullopt;
      break;
    }
    digits += token[i];
  }
  if (digits.find_first_of("0123456789") == std::string::npos || digits.front() == '-') return std::nullopt;
  const auto micros = parse_micros(exponent == 0 ? digits : move_point(digits, exponent), Extra::refuse);
  if (!micros) return std::nullopt;
  return negative ? -*micros : *micros;
}

}  // namespace brimwatch
