#pragma once
// How the values of one pointer behave over many messages: what a time, a price, a counter looks like without its name.
// Doubles are good enough here: nothing of it is compared with a pivot. Pure.
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/feeds/decoding/decimal.h"
#include "adapters/guessing/record.h"

namespace brimwatch {

/// The whole text as a number; empty for anything else.
[[nodiscard]] std::optional<double> number_in(std::string_view text);

/// A time in the format, or nothing; a text without a zone counts as UTC here.
[[nodiscard]] std::optional<Timestamp> time_in(std::string_view text, TimeFormat format);

/// Letters as tickers are written, with what sources put around them: "KLVN", "KLV.B", "KLVN.US", "trade.KLVN".
[[nodiscard]] bool looks_like_symbol(std::string_view text);

/// The values at one pointer, one a message; null where a message has none.
struct PointerColumn {
  std::string pointer;
  std::string name;  ///< the pointer, or in its place the name that the source gives that place in a list
  std::vector<const Leaf*> cells;

  std::size_t given = 0;                                                         ///< neither absent nor null
  double present = 0;                                                            ///< share of the messages
  double texts = 0, numbers = 0, numeric = 0, whole = 0, truths = 0, lists = 0;  ///< shares of the given ones
  double fractions = 0;  ///< of the numeric ones: those with digits behind the point that are not zero
  double points = 0;     ///< of the numeric ones: those written with a point
  double symbols = 0;    ///< that look like a symbol
  double least = 0, most = 0;
  std::size_t distinct = 0;
  double rising = 0;               ///< of the steps from one numeric value to the next: those not downwards
  double climbing = 0;             ///< those upwards
  double by_one = 0;               ///< those by exactly one
  std::optional<TimeFormat> time;  ///< when nearly all are times
  bool zoneless = false;           ///< of texts: none names its zone
  bool clock = false;              ///< surely times of day without a date: no format reads them
  bool maybe_clock = false;        ///< whole numbers that rise and could be such; as well the numbers of the trades

  [[nodiscard]] bool is_constant() const { return distinct <= 1; }
};

/// Looks at the cells and fills in the rest.
void measure(PointerColumn& column);

}  // namespace brimwatch
