#pragma once
// Trades seen lately, by symbol, exchange and id: what comes again within ten minutes is the same trade, from another
// feed or after a connection was made anew. One table for all symbols, of a size that a list gives it; each id has four
// places, of which the oldest makes room. What is forgotten before its ten minutes are over is counted.
#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "core/tick.h"

namespace brimwatch {

class RecentIds {
 public:
  static constexpr Nanos kKept = 10 * kMinute;

  RecentIds() { places_.resize(1); }

  /// Allocates; what is known is kept where the size stays.
  void make_room(std::size_t symbols) {
    constexpr std::size_t kEach = 1024, kLeast = 1 << 13, kMost = 1 << 18;  // sets of four: 256 KiB to 8 MiB
    std::size_t sets = kLeast;
    while (sets < symbols * kEach && sets < kMost) sets *= 2;
    if (places_.size() != sets) places_.assign(sets, {});
  }

  [[nodiscard]] static std::uint64_t key_of(SymbolId symbol, std::uint64_t id_on_exchange) {
    std::uint64_t x = id_on_exchange + (static_cast<std::uint64_t>(symbol) + 1) * 0x9E3779B97F4A7C15ULL;
    x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9ULL;
    x = (x ^ (x >> 27)) * 0x94D049BB133111EBULL;
    return x ^ (x >> 31);
  }

  void prefetch(std::uint64_t key) const { __builtin_prefetch(&places_[key & (places_.size() - 1)]); }

  /// Whether that trade came within ten minutes before or after `time`; if not, it is known from now on.
  bool is_known(std::uint64_t key, Timestamp time) {
    auto& set = places_[key & (places_.size() - 1)];
    const std::uint64_t mark = key >> kTimeBits;
    const auto second = static_cast<std::uint64_t>(time.ns / kSecond) & kTimeMask;
    std::size_t oldest = 0;
    std::uint64_t oldest_age = 0;
    for (std::size_t i = 0; i < set.size(); ++i) {
      const std::uint64_t age = set[i] == 0 ? kTimeMask / 2 : apart(second, set[i] & kTimeMask);
      if (set[i] >> kTimeBits == mark) {
        if (age <= kKept / kSecond) return true;
        oldest = i, oldest_age = kTimeMask;
        break;
      }
      if (age > oldest_age) oldest = i, oldest_age = age;
    }
    forgotten_ += oldest_age < kKept / kSecond ? 1 : 0;
    set[oldest] = mark << kTimeBits | second;
    return false;
  }

  [[nodiscard]] std::uint64_t forgotten() const { return forgotten_; }

 private:
  static constexpr int kTimeBits = 20;  // seconds, for twelve days
  static constexpr std::uint64_t kTimeMask = (1 << kTimeBits) - 1;

  static std::uint64_t apart(std::uint64_t a, std::uint64_t b) {
    const std::uint64_t forward = (a - b) & kTimeMask;
    return forward <= kTimeMask / 2 ? forward : kTimeMask + 1 - forward;
  }

  std::vector<std::array<std::uint64_t, 4>> places_;
  std::uint64_t forgotten_ = 0;
};

}  // namespace brimwatch
