#pragma once
// The one reader of daily bars' text: pure (bytes in, bars out) and quick enough for thousands of files. How much of a
// file must be readable is up to what its bars are for.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "core/daily.h"
#include "core/result.h"

namespace brimwatch {

/// What becomes of a row that cannot be read, and of a day that appears twice.
enum class DailyRows : std::uint8_t {
  readable,  ///< it is left out and counted, and the last of two rows stays: bases and reviews need not have every day
  every,     ///< it refuses the file, since a normal volume must not rest on a history with holes; of prices a file may
             ///< have none or some, and a price may be 0 for "not known"
};

/// Reads CSV text, parted by commas, semicolons or tabs. Columns by name, in any order and case, also by the names that
/// other files have (daily_header.h): date, open, high, low, close, volume, and optionally split ratio and symbol; others
/// are passed over, an adjusted close among them, since a pivot is a price that trades. Fields may stand in quotes, and
/// then have commas between thousands; a row wider than the header is left out. Rows may run forwards or backwards;
/// prices lose the noise of 32-bit floats. Where the rows name symbols, those of `symbol` are taken, or, where they all
/// are of one other, those, and DailySeries::told_symbol says which. `name` is the file's name for messages. An error
/// when the header lacks a needed column, no row can be read, or DailyRows::every finds one that it cannot read.
[[nodiscard]] Result<DailySeries> parse_daily(std::string_view text, std::string symbol, std::string_view name,
                                              DailyRows rows = DailyRows::readable);

/// The same for a file with the rows of many symbols: each one's series, sorted by symbol. A file that names no symbols
/// is one series of `symbol`.
[[nodiscard]] Result<std::vector<DailySeries>> parse_all_daily(std::string_view text, std::string symbol,
                                                               std::string_view name,
                                                               DailyRows rows = DailyRows::readable);

/// Rows that we write: date,open,high,low,close,volume,from, ascending, a column "split ratio" where there is any. Prices
/// exact, unset ones empty.
[[nodiscard]] std::string daily_text(const DailySeries& series);

/// Whether a file's name for a symbol means `symbol`: KLVN, klvn, KLVN.US, XNYS:KLVN.
[[nodiscard]] bool means_symbol(std::string_view said, std::string_view symbol);

}  // namespace brimwatch
