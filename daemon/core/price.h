#pragma once
// A price as a whole number of millionths, so that a comparison with a pivot is exact. The consolidated tapes carry
// six implied decimals; doubles never stand on the way from the text of a price to a comparison.
#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace brimwatch {

struct Price {
  std::int64_t micros = 0;  ///< millionths of the currency unit

  constexpr auto operator<=>(const Price&) const = default;
  [[nodiscard]] constexpr bool is_set() const { return micros != 0; }
  [[nodiscard]] double as_double() const { return static_cast<double>(micros) / 1e6; }  ///< for display and ratios only
};

constexpr std::int64_t kMicrosPerUnit = 1'000'000;

enum class Extra : std::uint8_t {
  refuse,  ///< digits below a millionth that are not zero make the number unreadable (configuration)
  drop,    ///< they are cut off, which keeps "at or above a pivot" exact (feeds)
};

/// Reads a plain decimal number ("48.35", "-1", ".5"); no exponent, no sign but '-', no thousands separator.
/// Empty when the text is not such a number or does not fit. Used for prices and, alike, for share counts.
[[nodiscard]] std::optional<std::int64_t> parse_micros(std::string_view text, Extra extra);

[[nodiscard]] inline std::optional<Price> parse_price(std::string_view text, Extra extra = Extra::refuse) {
  const auto micros = parse_micros(text, extra);
  return micros ? std::optional<Price>(Price{*micros}) : std::nullopt;
}

/// Shortest exact text with at least `least` decimals: 48.35, 48.3501, 50.00.
[[nodiscard]] std::string format_micros(std::int64_t micros, int least);
[[nodiscard]] inline std::string to_string(Price price) { return format_micros(price.micros, 2); }

/// price x (100 + percent) / 100, cut down to a whole millionth; percent itself in millionths (5 % = 5'000'000).
[[nodiscard]] Price add_percent_down(Price price, std::int64_t percent_micros);

/// The largest multiple of `tick` that is not above `price`.
[[nodiscard]] constexpr Price round_down(Price price, Price tick) {
  return tick.micros > 0 ? Price{price.micros - price.micros % tick.micros} : price;
}

}  // namespace brimwatch
