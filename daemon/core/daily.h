#pragma once
// Daily bars of one symbol, and the reader of their text for the weekend and the evening: pure (bytes in, bars out),
// quick enough for thousands of files, and patient with what real files hold. Normal volumes are read by
// volume/daily_file.cpp, which on purpose refuses a file with a row that it cannot read: a judgement must not rest on a
// history with holes.
#include <string>
#include <string_view>
#include <vector>

#include "core/price.h"
#include "core/result.h"
#include "core/timestamp.h"

namespace brimwatch {

struct DayBar {
  Date day;
  Price open, high, low, close;
  double volume = 0;  ///< shares

  bool operator==(const DayBar&) const = default;
};

/// `ratio` new shares for one old share from the opening of `day` on: 2 for 2:1, 0.1 for 1:10.
struct SplitOn {
  Date day;
  double ratio = 1;
};

/// Bars of one symbol, ascending by day, each day once, as the file has them (nothing adjusted).
struct DailySeries {
  std::string symbol;
  std::vector<DayBar> bars;
  std::vector<SplitOn> splits;  ///< from a column "split ratio", where the file has one
  bool has_prices = true;       ///< false: the file has only date and volume
  int skipped = 0;              ///< rows that could not be read, left out
  int mended = 0;               ///< rows whose high or low did not hold open and close, and were widened to do so
  std::string first_problem;    ///< file:line:column of the first skipped row, what was found, what is allowed
};

/// Reads CSV text. Columns by name, in any order and case: date (or datetime, day), open, high, low, close, volume, and
/// optionally split ratio; others are passed over, an adjusted close among them, since a pivot is a price that trades.
/// Fields may stand in quotes, and then have commas between thousands; a row wider than the header is left out.
/// Rows may run forwards or backwards; prices lose the noise of 32-bit floats. `name` is the file's name for messages. An
/// error when the header lacks a needed column or no row can be read.
[[nodiscard]] Result<DailySeries> parse_daily(std::string_view text, std::string symbol, std::string_view name);

/// Many sources hold prices as 32-bit floats (682.119995 for 682.12): what lies within such a float's rounding of a whole
/// cent is that cent; any other price stays as it is.
[[nodiscard]] Price without_float_noise(Price price);

/// Index of the last bar on or before `day`; -1 when there is none.
[[nodiscard]] int last_bar_by(const std::vector<DayBar>& bars, Date day);

}  // namespace brimwatch
