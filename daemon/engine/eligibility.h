#pragma once
// Which trades count, by sale condition: what moves the last price, the high and low, and the volume. One row a code, for
// each of the two tapes; of several codes on one trade the strictest wins in each column. Pure.
//
// The tables are data: config/conditions/cts.toml and utdf.toml, embedded in the program.
#include <array>
#include <bit>
#include <cstdint>

#include "core/tick.h"
#include "core/watch.h"

namespace brimwatch {

/// What keeps a trade from a column, as bits; 0 is a regular trade, which counts everywhere.
enum Bar : std::uint16_t {
  kNoLast = 1,             ///< does not move the consolidated last
  kNoHighLow = 2,          ///< does not move the day's high and low
  kNoVolume = 4,           ///< adds no volume (it repeats what was reported before)
  kLastIfFirst = 8,        ///< moves the last only when nothing else has moved it today (CTS footnote 2, UTDF 1)
  kLastIfSameMarket = 16,  ///< ... or comes from the market of the last, or the listing market (CTS footnote 3)
  kLastUntilLate = 32,     ///< moves the last only until ten seconds after the close (UTDF footnote 2)
  kUnknownCode = 64,       ///< not in the table: volume only
  kOtherTape = 128,        ///< '@', which only Tape C writes
  kClosingPrint = 256,     ///< code 6: the closing auction
  kAuctionPrint = 512,     ///< an opening, reopening or closing auction: codes O, 5 and 6
  kOpeningPrint = 2048,    ///< code O: the opening auction
  kOddLot = 1024,          ///< code I: too small to move a price, but made at one
};

/// Code -> bits; '\0' is 0, so that unused places cost nothing.
using ConditionTable = std::array<std::uint16_t, 256>;

[[nodiscard]] const ConditionTable& condition_table(Tape tape);

/// All bits of the trade's codes. '@' among them means that they are UTDF's, whatever the symbol's tape.
[[nodiscard]] inline std::uint16_t bars_of(const Conditions& conditions, const ConditionTable& table) {
  std::uint16_t bits = 0;
  for (const char code : conditions.codes) {
    if (code == '\0') break;
    bits |= table[static_cast<unsigned char>(code)];
  }
  if (bits & kOtherTape && &table != &condition_table(Tape::utdf))
    return bars_of(conditions, condition_table(Tape::utdf));
  return bits;
}

/// The bits of the conditions seen lately. A tape has a few combinations of codes that come in no order: looked up whole
/// they cost no branch that a processor could guess wrong.
class BarsCache {
 public:
  explicit BarsCache(Tape tape) : table_(condition_table(tape)) {}

  [[nodiscard]] std::uint16_t bars_of(const Conditions& conditions) {
    const auto codes = std::bit_cast<std::uint64_t>(conditions.codes);
    Line& line = lines_[codes * 0x9E3779B97F4A7C15ULL >> 56];
    if (line.codes != codes) [[unlikely]]
      line = {codes, brimwatch::bars_of(conditions, table_)};
    return line.bars;
  }

 private:
  struct Line {
    std::uint64_t codes = 0;  ///< no codes have no bits, so that a fresh line is a right one
    std::uint16_t bars = 0;
  };
  const ConditionTable& table_;
  std::array<Line, 256> lines_{};
};

}  // namespace brimwatch
