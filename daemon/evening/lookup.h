#pragma once
// Finding the bar of a day in what a review works on. Pure.
#include "evening/review.h"

namespace brimwatch {

[[nodiscard]] inline bool in_span(const ReviewOptions& options, Date day) {
  return day >= options.from && day <= options.to;
}

/// nullptr: there are none.
[[nodiscard]] inline const std::vector<DailyBar>* bars_of(const ReviewInput& input, std::string_view symbol) {
  const auto found = input.bars.find(symbol);
  return found == input.bars.end() ? nullptr : &found->second;
}

/// The bar of that very day; nullptr: there is none.
[[nodiscard]] inline const DailyBar* bar_on(const std::vector<DailyBar>& bars, Date day) {
  const int at = last_bar_by(bars, day);
  return at >= 0 && bars[static_cast<std::size_t>(at)].day == day ? &bars[static_cast<std::size_t>(at)] : nullptr;
}

[[nodiscard]] inline const DailyBar* bar_on(const ReviewInput& input, std::string_view symbol, Date day) {
  const auto* bars = bars_of(input, symbol);
  return bars != nullptr ? bar_on(*bars, day) : nullptr;
}

/// What is doubtful in the bar of that day; empty: nothing.
[[nodiscard]] inline std::string doubt_on(const ReviewInput& input, std::string_view symbol, Date day) {
  const auto found = input.doubts.find(symbol);
  if (found == input.doubts.end()) return {};
  for (const BarDoubt& one : found->second)
    if (one.day == day) return one.text;
  return {};
}

}  // namespace brimwatch
