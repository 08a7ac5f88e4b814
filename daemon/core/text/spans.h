#pragma once
// Stretches of time, united and never summed: the same half hour told twice is half an hour. Bounded: when there are more
// stretches than places, the two that lie nearest to each other become one, with what is between them.
#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>

#include "core/text/timestamp.h"

namespace brimwatch {

class Spans {
 public:
  static constexpr std::size_t kMost = 12;

  /// Ascending and apart; the first `size()` of both count. Public for whoever keeps states.
  std::array<Nanos, kMost> from{}, to{};
  std::uint8_t count = 0;

  [[nodiscard]] std::size_t size() const { return std::min<std::size_t>(count, kMost); }
  [[nodiscard]] bool empty() const { return count == 0; }
  void clear() { *this = {}; }

  /// Nothing happens where `end` is not after `begin`.
  void add(Nanos begin, Nanos end) {
    if (end <= begin) return;
    std::size_t first = 0;
    while (first < size() && to[first] < begin) ++first;
    std::size_t last = first;  // one behind those that it touches
    for (; last < size() && from[last] <= end; ++last) {
      begin = std::min(begin, from[last]);
      end = std::max(end, to[last]);
    }
    if (first == last && size() == kMost) return add_to_full(begin, end);
    replace(first, last, begin, end);
  }

  void add_all(const Spans& other) {
    for (std::size_t i = 0; i < other.size(); ++i) add(other.from[i], other.to[i]);
  }

  [[nodiscard]] Nanos length() const {
    Nanos sum = 0;
    for (std::size_t i = 0; i < size(); ++i) sum += to[i] - from[i];
    return sum;
  }
  [[nodiscard]] Nanos end() const { return empty() ? 0 : to[size() - 1]; }

  bool operator==(const Spans&) const = default;

 private:
  void replace(std::size_t first, std::size_t last, Nanos begin, Nanos end) {
    std::array<Nanos, kMost> f{}, t{};
    std::size_t n = 0;
    const auto put = [&](Nanos a, Nanos b) { f[n] = a, t[n++] = b; };
    for (std::size_t i = 0; i < first; ++i) put(from[i], to[i]);
    put(begin, end);
    for (std::size_t i = last; i < size(); ++i) put(from[i], to[i]);
    from = f, to = t, count = static_cast<std::uint8_t>(n);
  }

  /// One more than there is room for: the nearest two of all become one.
  void add_to_full(Nanos begin, Nanos end) {
    std::array<Nanos, kMost + 1> f{}, t{};
    std::size_t n = 0, place = 0;
    while (place < kMost && from[place] < begin) ++place;
    for (std::size_t i = 0; i <= kMost; ++i) {
      if (i == place) f[n] = begin, t[n++] = end;
      if (i < kMost) f[n] = from[i], t[n++] = to[i];
    }
    std::size_t nearest = 1;
    for (std::size_t i = 1; i <= kMost; ++i) {
      if (f[i] - t[i - 1] < f[nearest] - t[nearest - 1]) nearest = i;
    }
    t[nearest - 1] = t[nearest];
    for (std::size_t i = nearest; i < kMost; ++i) f[i] = f[i + 1], t[i] = t[i + 1];
    std::copy_n(f.begin(), kMost, from.begin());
    std::copy_n(t.begin(), kMost, to.begin());
  }
};

}  // namespace brimwatch
