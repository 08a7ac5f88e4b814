#pragma once
// Prices with the trade behind each, so that they can be taken away again when the trade is taken back. Arrays side by
// side: a state is kept as arrays of numbers.
#include <array>
#include <cstddef>
#include <cstdint>

#include "core/price.h"
#include "core/text/timestamp.h"

namespace brimwatch {

struct SeenPrint {
  Price price;
  Timestamp time;
  std::uint64_t trade = 0;
  char exchange = 0;  ///< where the trade was made; ids are each exchange's own

  bool operator==(const SeenPrint&) const = default;
};

/// Whether both mean one trade: by id and exchange where both have them, else by price and time.
[[nodiscard]] constexpr bool is_same_trade(const SeenPrint& a, const SeenPrint& b) {
  if (a.trade == 0 || b.trade == 0) return a.price == b.price && a.time == b.time;
  return a.trade == b.trade && (a.exchange == b.exchange || a.exchange == 0 || b.exchange == 0);
}

template <std::size_t N>
struct SeenPrints {
  std::array<Price, N> price{};
  std::array<Timestamp, N> time{};
  std::array<std::uint64_t, N> trade{};
  std::array<char, N> exchange{};

  [[nodiscard]] SeenPrint get(std::size_t i) const { return {price[i], time[i], trade[i], exchange[i]}; }
  void put(std::size_t i, const SeenPrint& print) {
    price[i] = print.price;
    time[i] = print.time;
    trade[i] = print.trade;
    exchange[i] = print.exchange;
  }
  bool operator==(const SeenPrints&) const = default;
};

/// The last prices of a symbol, in a ring whose newest place somebody else knows.
constexpr std::size_t kRecentPrints = 4;
using LastPrints = SeenPrints<kRecentPrints>;

/// The day's highest or lowest prices, the outermost first: when its trade is taken back, the next one stands.
constexpr std::size_t kExtremes = 3;
using Extremes = SeenPrints<kExtremes>;

/// `sign` 1: the highest; -1: the lowest. Equal prices stand in the order of their coming.
inline void add_extreme(Extremes& all, const SeenPrint& print, int sign) {
  const auto outside = [&](std::size_t i) {
    return !all.price[i].is_set() || sign * print.price.micros > sign * all.price[i].micros;
  };
  std::size_t at = kExtremes;
  while (at > 0 && outside(at - 1)) --at;
  if (at == kExtremes) return;
  for (std::size_t i = kExtremes - 1; i > at; --i) all.put(i, all.get(i - 1));
  all.put(at, print);
}

/// False when it is not among them.
inline bool drop_extreme(Extremes& all, const SeenPrint& print) {
  for (std::size_t i = 0; i < kExtremes; ++i) {
    if (!all.price[i].is_set() || !is_same_trade(all.get(i), print)) continue;
    for (; i + 1 < kExtremes; ++i) all.put(i, all.get(i + 1));
    all.put(kExtremes - 1, {});
    return true;
  }
  return false;
}

}  // namespace brimwatch
