#pragma once
// A day that never was, of stocks that are watched: each goes one of a few ways round its pivot, so that every kind of
// notice comes. The same stocks, session and seed give the same day. Pure.
#include <cstdint>
#include <string>
#include <vector>

#include "core/tick.h"

namespace brimwatch {

struct InventedStock {
  SymbolId symbol = kNoSymbol;
  Price pivot;
  Price tick_size{10'000};
  double normal = 1'000'000;  ///< shares of a normal day; 0: a million
};

struct InventedSession {
  Timestamp open, close;
};

/// Ascending by time; nothing before the open, a last trade of each a minute after the close, so that the day ends.
[[nodiscard]] std::vector<Tick> invented_day(const std::vector<InventedStock>& stocks, const InventedSession& session,
                                             std::uint64_t seed);

}  // namespace brimwatch
