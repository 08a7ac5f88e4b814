#pragma once
// Daily bars of one symbol, and the one reader of their text: pure (bytes in, bars out) and quick enough for thousands of
// files. How much of a file must be readable is up to what its bars are for.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "core/price.h"
#include "core/result.h"
#include "core/timestamp.h"

namespace brimwatch {

/// One past session. Prices are unset where the file has none.
struct DailyBar {
  Date day;
  Price open, high, low, close;
  double volume = 0;  ///< shares

  bool operator==(const DailyBar&) const = default;
};

/// `ratio` new shares for one old share from the opening of `day` on: 2 for 2:1, 0.1 for 1:10.
struct SplitOn {
  Date day;
  double ratio = 1;
};

/// Bars of one symbol, ascending by day, each day once, as the file has them (nothing adjusted).
struct DailySeries {
  std::string symbol;
  std::vector<DailyBar> bars;
  std::vector<SplitOn> splits;  ///< from a column "split ratio", where the file has one
  bool has_prices = true;       ///< all four of open, high, low and close
  int skipped = 0;              ///< rows that could not be read, left out
  int mended = 0;               ///< rows whose high or low did not hold open and close, and were widened to do so
  std::string first_problem;    ///< file:line:column of the first skipped row, what was found, what is allowed
};

/// What becomes of a row that cannot be read, and of a day that appears twice.
enum class DailyRows : std::uint8_t {
  readable,  ///< it is left out and counted, and the last of two rows stays: bases and reviews need not have every day
  every,     ///< it refuses the file, since a normal volume must not rest on a history with holes; of prices a file may
             ///< have none or some, and a price may be 0 for "not known"
};

/// Reads CSV text. Columns by name, in any order and case: date (or datetime, day), open, high, low, close, volume, and
/// optionally split ratio; others are passed over, an adjusted close among them, since a pivot is a price that trades.
/// Fields may stand in quotes, and then have commas between thousands; a row wider than the header is left out.
/// Rows may run forwards or backwards; prices lose the noise of 32-bit floats. `name` is the file's name for messages. An
/// error when the header lacks a needed column, no row can be read, or DailyRows::every finds one that it cannot read.
[[nodiscard]] Result<DailySeries> parse_daily(std::string_view text, std::string symbol, std::string_view name,
                                              DailyRows rows = DailyRows::readable);

/// Many sources hold prices as 32-bit floats (682.119995 for 682.12): what lies within such a float's rounding of a whole
/// cent is that cent; any other price stays as it is.
[[nodiscard]] Price without_float_noise(Price price);

/// Index of the last bar on or before `day`; -1 when there is none.
[[nodiscard]] int last_bar_by(const std::vector<DailyBar>& bars, Date day);

}  // namespace brimwatch
