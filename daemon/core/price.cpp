#include "core/price.h"

#include <limits>

namespace brimwatch {

std::optional<std::int64_t> parse_micros(std::string_view text, Extra extra) {
  constexpr std::int64_t kMost = std::numeric_limits<std::int64_t>::max() / 10 - 1;
  const bool negative = !text.empty() && text.front() == '-';
  if (negative) text.remove_prefix(1);
  std::int64_t value = 0;
  int decimals = -1;  // -1: the point has not come yet
  bool any_digit = false;
  for (const char c : text) {
    if (c == '.') {
      if (decimals >= 0) return std::nullopt;
      decimals = 0;
      continue;
    }
    if (c < '0' || c > '9') return std::nullopt;
    any_digit = true;
    if (decimals == 6) {
      if (c != '0' && extra == Extra::refuse) return std::nullopt;
      continue;
    }
    if (value > kMost) return std::nullopt;
    value = value * 10 + (c - '0');
    if (decimals >= 0) ++decimals;
  }
  if (!any_digit) return std::nullopt;
  for (int i = decimals < 0 ? 0 : decimals; i < 6; ++i) {
    if (value > kMost) return std::nullopt;
    value *= 10;
  }
  return negative ? -value : value;
}

std::string format_micros(std::int64_t micros, int least) {
  std::string digits = std::to_string(micros < 0 ? -micros : micros);
  if (digits.size() < 7) digits.insert(0, 7 - digits.size(), '0');
  std::string text = digits.substr(0, digits.size() - 6) + "." + digits.substr(digits.size() - 6);
  int keep = 6;
  while (keep > least && text.back() == '0') {
    text.pop_back();
    --keep;
  }
  if (keep == 0) text.pop_back();
  return micros < 0 ? "-" + text : text;
}

Price add_percent_down(Price price, std::int64_t percent_micros) {
  constexpr std::int64_t kHundred = 100 * kMicrosPerUnit;
  __extension__ using Wide = __int128;  // a price times a percentage passes 64 bits
  return Price{static_cast<std::int64_t>(static_cast<Wide>(price.micros) * (kHundred + percent_micros) / kHundred)};
}

}  // namespace brimwatch
