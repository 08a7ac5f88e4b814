#include "adapters/feeds/decoding/decimal.h"

#include <algorithm>
#include <limits>

namespace brimwatch {
namespace {

constexpr std::int64_t kMantissaMost = (std::numeric_limits<std::int64_t>::max() - 9) / 10;

/// A number taken apart: mantissa x 10^exponent, as many digits as fit; later ones only move the exponent.
struct Parts {
  std::int64_t mantissa = 0;
  int exponent = 0;
  bool any_digit = false;
};

/// Digits from `at` on; behind the point each kept digit lowers the exponent, before it each dropped one raises it.
void take_digits(std::string_view text, std::size_t& at, bool behind_point, Parts& parts) {
  for (; at < text.size() && text[at] >= '0' && text[at] <= '9'; ++at) {
    parts.any_digit = true;
    if (parts.mantissa <= kMantissaMost) {
      parts.mantissa = parts.mantissa * 10 + (text[at] - '0');
      if (behind_point) --parts.exponent;
    } else if (!behind_point) {
      ++parts.exponent;
    }
  }
}

/// "e+3" and the like at `at`; false when it is not one. Far exponents are kept at a bound: they do not fit anyway.
bool take_exponent(std::string_view text, std::size_t& at, int& exponent) {
  if (at == text.size()) return true;
  if (text[at] != 'e' && text[at] != 'E') return false;
  ++at;
  const bool negative = at < text.size() && text[at] == '-';
  if (at < text.size() && (text[at] == '-' || text[at] == '+')) ++at;
  const std::size_t first = at;
  int value = 0;
  for (; at < text.size() && text[at] >= '0' && text[at] <= '9'; ++at)
    value = std::min(value * 10 + (text[at] - '0'), 1000);
  exponent += negative ? -value : value;
  return at > first && at == text.size();
}

std::optional<std::int64_t> shift(std::int64_t value, int places) {
  for (; places < 0 && value != 0; ++places) value /= 10;
  for (; places > 0 && value != 0; --places) {
    if (value > std::numeric_limits<std::int64_t>::max() / 10) return std::nullopt;
    value *= 10;
  }
  return value;
}

}  // namespace

std::optional<std::int64_t> scaled_decimal(std::string_view text, int decimals) {
  std::size_t at = 0;
  const bool negative = !text.empty() && text[0] == '-';
  if (negative) ++at;
  Parts parts;
  take_digits(text, at, false, parts);
  if (at < text.size() && text[at] == '.') take_digits(text, ++at, true, parts);
  if (!parts.any_digit || !take_exponent(text, at, parts.exponent)) return std::nullopt;
  const auto value = shift(parts.mantissa, parts.exponent + decimals);
  return value && negative ? std::optional(-*value) : value;
}

std::optional<TimeFormat> time_format_of(std::string_view word) {
  if (word == "rfc3339") return TimeFormat::rfc3339;
  if (word == "s") return TimeFormat::seconds;
  if (word == "ms") return TimeFormat::millis;
  if (word == "us") return TimeFormat::micros;
  if (word == "ns") return TimeFormat::nanos;
  return std::nullopt;
}

std::optional<Timestamp> parse_time(std::string_view text, TimeFormat format, std::span<const ZoneShift> zone) {
  constexpr Timestamp kEarliest{Date::of(1990, 1, 1).days * kDayNanos};
  constexpr Timestamp kLatest{Date::of(2200, 1, 1).days * kDayNanos};
  std::optional<Timestamp> time;
  if (format == TimeFormat::rfc3339) {
    time = parse_zoned(text, zone);
  } else {
    const int decimals = 9 - 3 * (static_cast<int>(format) - static_cast<int>(TimeFormat::seconds));
    if (const auto nanos = scaled_decimal(text, decimals)) time = Timestamp{*nanos};
  }
  return time && *time >= kEarliest && *time < kLatest ? time : std::nullopt;
}

}  // namespace brimwatch
