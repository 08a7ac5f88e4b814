#pragma once
// Daily bars of one symbol: plain values. bars/ reads, checks and writes them.
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "core/price.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// One past session. Prices are unset where the file has none.
struct DailyBar {
  Date day;
  Price open, high, low, close;
  double volume = 0;  ///< shares

  bool operator==(const DailyBar&) const = default;
};

using Bars = std::span<const DailyBar>;
[[nodiscard]] inline const DailyBar& bar_at(Bars bars, int i) { return bars[static_cast<std::size_t>(i)]; }

/// `ratio` new shares for one old share from the opening of `day` on: 2 for 2:1, 0.1 for 1:10.
struct SplitOn {
  Date day;
  double ratio = 1;
};

/// Bars of one symbol, ascending by day, each day once, as the file has them (nothing adjusted).
struct DailySeries {
  std::string symbol;
  std::vector<DailyBar> bars;
  std::vector<SplitOn> splits;       ///< from a column "split ratio", where the file has one
  bool has_prices = true;            ///< all four of open, high, low and close
  int skipped = 0;                   ///< rows that could not be read, left out
  int mended = 0;                    ///< rows whose high or low did not hold open and close, and were widened to do so
  std::string first_problem;         ///< file:line:column of the first skipped row, what was found, what is allowed
  std::vector<std::string> choices;  ///< what was chosen in reading, a phrase each: "\"Datum\" is date"
  std::string told_symbol;           ///< another symbol that its rows name; empty: none, or this one
  std::vector<Date> own;             ///< days whose row the daemon made itself of what it heard, ascending
};

/// Many sources hold prices as 32-bit floats (682.119995 for 682.12): what lies within such a float's rounding of a whole
/// cent is that cent; any other price stays as it is.
[[nodiscard]] Price without_float_noise(Price price);

/// Index of the last bar on or before `day`; -1 when there is none.
[[nodiscard]] int last_bar_by(const std::vector<DailyBar>& bars, Date day);

}  // namespace brimwatch
