#pragma once
// The base rates of a review, from every stock whose daily bars the user keeps. Reads files.
#include <string>
#include <vector>

#include "evening/review.h"
#include "weekend/events.h"

namespace brimwatch {

constexpr std::size_t kMostStocks = 20'000;  ///< files of a directory; more are left out, and told

/// `history`: a directory of SYMBOL.csv, empty for none. What could not be read is left out of the rates; the review's
/// own reading of the files it needs tells of those. No crossing in the review: no rates.
[[nodiscard]] BaseRates base_rates_of(const ReviewInput& input, const std::string& history, const PriceEvents& events,
                                      std::vector<std::string>& remarks);

}  // namespace brimwatch
