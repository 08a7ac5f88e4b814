#pragma once
// The yardstick of every base: the plain high of the last fifty sessions, without a shape. Pure.
#include <optional>
#include <span>

#include "core/daily.h"

namespace brimwatch {

constexpr int kPlainSessions = 50;
constexpr int kPlainSettled = 5;
constexpr Price kPlainOffset{100'000};  ///< ten cents, common practice

struct PlainHigh {
  int peak = 0;  ///< first bar of the highest high of the fifty that end at `last`
  Price pivot;   ///< its high plus the offset
};

/// Empty where the history is shorter, the high is less than five sessions old, or the pivot is not above the last close.
[[nodiscard]] std::optional<PlainHigh> plain_high(std::span<const DailyBar> bars, int last, Price offset = kPlainOffset);

}  // namespace brimwatch
