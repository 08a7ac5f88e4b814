#pragma once
// One event of a feed, in the form that the engine takes: fixed size, no pointers, all numbers exact.
#include <array>
#include <cstdint>
#include <string_view>

#include "core/price.h"
#include "core/shares.h"
#include "core/symbols.h"
#include "core/text/timestamp.h"

namespace brimwatch {

enum class TickKind : std::uint8_t {
  trade,    ///< price, size, conditions; day_volume where the source has it
  quote,    ///< bid, ask and their sizes
  cancel,   ///< takes back the trade with this id (or this price and size at `time`, where ids are missing)
  correct,  ///< replaces the trade with this id: new price and size; the old ones in bid (price) and bid_size (size)
  status,   ///< trading status changed: see TradingStatus
  bar,      ///< a minute bar: price = close, bid = low, ask = high, size = volume of the minute; time = its end
  day,      ///< a snapshot: price = last, day_volume = cumulative
  hole,     ///< the feed was blind from `time` to `received`; symbol kNoSymbol means all of them
};

enum class TradingStatus : std::uint8_t { none, trading, halted, paused, quotation };

/// Sale condition codes as they stand on the tape, spaces left out, in order; '\0' fills the rest.
struct Conditions {
  std::array<char, 8> codes{};

  /// Keeps the first eight codes; `overflow` says whether there were more (the caller counts it as unknown).
  static Conditions of(std::string_view text, bool* overflow = nullptr);
  constexpr bool operator==(const Conditions&) const = default;
  [[nodiscard]] std::string_view view() const;
};

/// What a source's own count of the day's volume has in it: regular hours only, what was traded before them too, or it
/// has to be found out (from what the source says before the open; from the gap at the session's first trade).
enum class DayVolumeIncludes : std::uint8_t { unknown, regular, extended };

struct Tick {
  Timestamp time;      ///< the exchange's
  Timestamp received;  ///< ours; not set on a tape without the column
  Price price;
  Shares size;
  SymbolId symbol = kNoSymbol;
  TickKind kind = TickKind::trade;
  TradingStatus status = TradingStatus::none;
  char exchange = 0;      ///< participant code as on the tape, 0 when unknown
  std::uint8_t feed = 0;  ///< index of the feed in the configuration
  Conditions conditions;
  std::uint64_t id = 0;  ///< trade id, or a hash of a textual one; 0 when there is none
  Shares day_volume;     ///< cumulative, 0 when not given
  Price bid, ask;
  Shares bid_size, ask_size;
};

/// The number itself where the text is one that fits, else a 64-bit hash (FNV-1a) of it; 0 for an empty text.
[[nodiscard]] std::uint64_t trade_id_of(std::string_view text);

}  // namespace brimwatch
