#pragma once
// Collects what a review needs from a journal and a directory of daily bars.
#include <string>

#include "core/result.h"
#include "evening/review.h"

namespace brimwatch {

struct Gathered {
  ReviewInput input;
  std::vector<std::string> remarks;  ///< what could not be had, a line each: symbols without bars, unreadable files
};

/// The last trade date with a notice in the journal; empty when it holds none.
[[nodiscard]] Result<std::optional<Date>> last_day(Journal& journal);

/// `history`: directory of SYMBOL.csv, empty for none. Bars of the watches' symbols are read too.
[[nodiscard]] Result<Gathered> gather(Journal& journal, const std::string& history, std::vector<ReviewWatch> watches,
                                      const ReviewOptions& options);

}  // namespace brimwatch
