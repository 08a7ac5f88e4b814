#pragma once
// When a channel tries again: by the rule of core/backoff.h, and by what the other side asks.
#include <algorithm>
#include <chrono>
#include <cstdint>
#include <optional>

#include "core/backoff.h"
#include "core/text/timestamp.h"

namespace brimwatch {

constexpr Nanos kRetryBase = kSecond;
constexpr Nanos kRetryLeast = kSecond / 4;
constexpr Nanos kRetryMostUrgent = kMinute;  ///< longest pause while something urgent waits
constexpr Nanos kRetryMost = 15 * kMinute;
constexpr Nanos kRetryAfterMost = 15 * kMinute;  ///< what another side may ask for at most; urgent notices expire then

/// The pause after the n-th failure in a row (n from 1). Where the other side said how long to wait, at least that.
template <typename Random>
Nanos retry_pause(int failures, Nanos most, std::optional<std::chrono::seconds> retry_after, Random& random) {
  const Nanos ceiling = backoff_ceiling(kRetryBase, failures - 1, most);
  const Nanos pause = std::max(kRetryLeast, static_cast<Nanos>(random() % static_cast<std::uint64_t>(ceiling + 1)));
  if (!retry_after) return pause;
  const auto asked = std::clamp<std::int64_t>(retry_after->count(), 0, kRetryAfterMost / kSecond);
  return std::max(pause, asked * kSecond);
}

}  // namespace brimwatch
