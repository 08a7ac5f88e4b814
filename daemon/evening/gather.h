#pragma once
// Collects what a review needs from a journal and a directory of daily bars.
#include <string>

#include "core/bar_checks.h"
#include "core/result.h"
#include "evening/review.h"
#include "weekend/events.h"

namespace brimwatch {

struct Gathered {
  ReviewInput input;
  std::vector<std::string> remarks;  ///< what could not be had, a line each: symbols without bars, unreadable files
};

/// The last trade date with a notice in the journal; empty when it holds none.
[[nodiscard]] Result<std::optional<Date>> last_day(Journal& journal);

/// Where the rest comes from.
struct ReviewSources {
  std::string history;               ///< directory of SYMBOL.csv, empty for none
  std::vector<ReviewWatch> watches;  ///< bars of their symbols are read too
  PriceEvents events = {};           ///< splits besides those that the files of bars tell themselves
  std::string index = {};            ///< daily bars of the market's index, a file; empty for none
  BarChecks checks = {};             ///< what is done with doubtful bars
  std::vector<Date> sessions = {};   ///< days on which the exchange traded, ascending; empty: none can be missing
  bool base_rates = true;            ///< count what plain 50-day highs of every stock in `history` came to
};

[[nodiscard]] Result<Gathered> gather(Journal& journal, const ReviewSources& sources, const ReviewOptions& options);

}  // namespace brimwatch
