#pragma once
// A number of shares, exact to a millionth (tapes carry fractional shares since 2025). Sums of a day fit with room:
// 9.2e12 shares.
#include <compare>
#include <cstdint>

#include "core/price.h"

namespace brimwatch {

struct Shares {
  std::int64_t micros = 0;  ///< millionths of a share

  constexpr auto operator<=>(const Shares&) const = default;
  constexpr Shares& operator+=(Shares other) { return micros += other.micros, *this; }
  constexpr Shares& operator-=(Shares other) { return micros -= other.micros, *this; }
  [[nodiscard]] constexpr double as_double() const { return static_cast<double>(micros) / 1e6; }
  [[nodiscard]] static constexpr Shares whole(std::int64_t count) { return Shares{count * kMicrosPerUnit}; }
};

[[nodiscard]] inline std::optional<Shares> parse_shares(std::string_view text, Extra extra = Extra::refuse) {
  const auto micros = parse_micros(text, extra);
  return micros ? std::optional<Shares>(Shares{*micros}) : std::nullopt;
}

/// Exact, without needless decimals: 100, 0.5.
[[nodiscard]] inline std::string to_string(Shares shares) { return format_micros(shares.micros, 0); }

/// For a person: 612, 41.3k, 1.30M, 2.05B; three figures that count.
[[nodiscard]] std::string brief(double count);

/// "1.3M", "410k", "2.1B", "950000", "1_300_000": what a person writes for a volume.
[[nodiscard]] std::optional<Shares> parse_brief_shares(std::string_view text);

}  // namespace brimwatch
