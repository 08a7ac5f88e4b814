#pragma once
// The user's own trades beside the notices: each purchase, the crossing notice before it, its result. Pure.
#include <string>
#include <vector>

#include "core/answer.h"
#include "evening/review.h"

namespace brimwatch {

/// The purchases of the span, those that were held in it, and those that were sold in it; in order.
[[nodiscard]] std::vector<Deed> deeds_of(const ReviewInput& input);

/// "KLVN: bought at 48.60 on 2026-11-25, 200 shares, 12 min after it was told (crossed 48.35), ...; held, last close
/// ...".
[[nodiscard]] std::string deed_text(const Deed& deed);

}  // namespace brimwatch
