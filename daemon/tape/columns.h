#pragma once
// The columns of a tape. The header row names them; their order is free.
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"

namespace brimwatch {

enum class Column : std::uint8_t {
  time,        ///< RFC 3339, up to nine digits of fraction that count
  symbol,      ///< 1 to 32 bytes
  price,       ///< of a trade; close of a bar; last of a day
  size,        ///< shares, fractions allowed
  conditions,  ///< sale condition codes, spaces allowed
  kind,        ///< trade quote cancel correct status bar day hole; empty: trade
  exchange,    ///< one participant code, or empty
  id,          ///< trade id
  day_volume,  ///< cumulative shares of the day
  bid,         ///< of a quote; low of a bar; a correction's old price
  ask,         ///< of a quote; high of a bar
  bid_size,    ///< of a quote; a correction's old size
  ask_size,
  status,    ///< trading halted paused quotation, or empty
  received,  ///< when the recorder got it; end of a hole
};
constexpr std::size_t kColumns = 15;

[[nodiscard]] std::string_view to_string(Column column);

/// Which field of a row is which column.
struct Layout {
  std::size_t fields = 0;                 ///< in every row
  std::array<int, kColumns> at;           ///< index of the field, -1 when the tape has no such column
  std::vector<std::optional<Column>> of;  ///< the other way round; empty for columns that are not known
  std::vector<std::string> ignored;       ///< names of those

  Layout() { at.fill(-1); }
  [[nodiscard]] int operator[](Column column) const { return at[static_cast<std::size_t>(column)]; }
};

/// `names` are the fields of the header row, `where` says which file for messages.
[[nodiscard]] Result<Layout> read_header(const std::vector<std::string>& names, std::string_view where);

}  // namespace brimwatch
