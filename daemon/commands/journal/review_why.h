#pragma once
// `review --why SYMBOL`: the lines of one symbol retraced, with the trades of the tapes round each crossing.
#include <string>
#include <vector>

#include "evening/review.h"

namespace brimwatch {

/// `tapes`: files, of which those that are no tapes of trades (minute bars) are passed over. Empty: no crossing of it.
[[nodiscard]] std::string why_of(const std::string& symbol, const Review& review, const ReviewInput& input,
                                 const std::vector<std::string>& tapes);

}  // namespace brimwatch
