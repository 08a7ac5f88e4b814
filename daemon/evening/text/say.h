#pragma once
// Words of the evening that its text, its page and its comparison share. Every number of one kind has one writer: prices
// as they are (core/price.h), volumes in three figures (core/shares.h), percent and odds as in the notices
// (core/wording.h).
#include <string>

#include "evening/review.h"

namespace brimwatch {

constexpr std::size_t kReviewWidth = 80;  ///< characters of a line in a terminal

/// "14 of 20 (70 %, likely 48 to 85)", or "none decided".
[[nodiscard]] std::string share_text(const Share& share);

/// "3 crossings", "1 crossing".
[[nodiscard]] std::string count_text(int count, const std::string& one);

/// "closed 51.00, +2.0 % from the pivot, inside the range".
[[nodiscard]] std::string close_text(const Crossing& one);

/// "volume: said 1.60M (1.40M-1.90M), came 1.50M, +50 %: reached the +40 % needed".
[[nodiscard]] std::string volume_text(const Crossing& one);

/// "its daily bars are doubtful (a price of 99.00 on 2026-03-05, ...): nothing is judged by them": of a crossing with a
/// doubt.
[[nodiscard]] std::string doubt_text(const Crossing& one);

/// "after 1 session: -4.4 to +3.8 %; 5 sessions: not yet; ...".
[[nodiscard]] std::string after_text(const Crossing& one);

/// "following its rules: bought at 50.20 (...), sold at the loss limit, 46.00 on 2026-03-05: -8.5 % after costs".
[[nodiscard]] std::string follow_text(const Crossing& one);

/// "heavy, odds 0.94" as the notice said it; empty where the volume was not judged.
[[nodiscard]] std::string weight_text(const VolumeView& volume);

/// The sum of all, a sentence a line: volume, closes, following, troubles.
[[nodiscard]] std::vector<std::string> sum_lines(const Review& review);

/// What followed, a sentence a line, the base rate beside each.
[[nodiscard]] std::vector<std::string> after_lines(const Review& review);

/// The result of following the rules, a sentence a line, open positions beside those that ended; empty where nothing was
/// bought.
[[nodiscard]] std::vector<std::string> followed_lines(const Review& review);

}  // namespace brimwatch
