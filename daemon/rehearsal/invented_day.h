#pragma once
// An invented day of the watched stocks: each takes one of a few courses around its pivot, so that every kind of
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

constexpr Nanos kInventedAfterClose = 11 * kMinute;  ///< of the last trades: closing prints come until ten minutes after

struct InventedSession {
  Timestamp open, close;
};

/// Ascending by time; nothing before the open; a last trade of each so long after the close that the day has ended.
[[nodiscard]] std::vector<Tick> invented_day(const std::vector<InventedStock>& stocks, const InventedSession& session,
                                             std::uint64_t seed);

}  // namespace brimwatch
