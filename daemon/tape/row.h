#pragma once
// One row of a tape to one tick: the plain, complete reading that says what is wrong with a row. Pure but for the symbol
// table.
#include <array>
#include <optional>
#include <string>
#include <string_view>

#include "core/tick.h"
#include "tape/columns.h"
#include "tape/record_text.h"
#include "tape/symbol_cache.h"

namespace brimwatch {

/// Of TickKind and TradingStatus, by their values.
inline constexpr std::array<std::string_view, 8> kTickKinds{"trade",  "quote", "cancel", "correct",
                                                            "status", "bar",   "day",    "hole"};
inline constexpr std::array<std::string_view, 5> kTradingStatuses{"", "trading", "halted", "paused", "quotation"};

/// Why a row could not be read.
struct RowFault {
  std::uint32_t column = 1;  ///< 1-based byte in the record
  std::string_view name;     ///< of the tape's column; empty when the row as a whole is wrong
  std::string found;
  std::string_view allowed;
};

/// Fills `tick` (every field of it). `cut` counts rows with more than eight condition codes; the first eight are kept.
[[nodiscard]] std::optional<RowFault> read_row(const std::vector<RecordField>& fields, const Layout& layout,
                                               SymbolCache& symbols, Tick& tick, std::uint64_t& cut);

/// The text of a field as a message shows it: one line, at most 40 characters, fit to be shown.
[[nodiscard]] std::string shown(std::string_view text);

}  // namespace brimwatch
