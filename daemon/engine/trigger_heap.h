#pragma once
// The nearest price at which any watch of a symbol changes: a binary heap of one key a watch, in arrays that belong to
// somebody else. Every watch is always in it, with kNever when it waits for nothing, so that nothing is ever allocated or
// looked for: a watch knows its place.
#include <cstdint>
#include <limits>
#include <span>
#include <utility>

namespace brimwatch {

constexpr std::int64_t kNever = std::numeric_limits<std::int64_t>::max();

/// A min-heap over keys. Upward triggers use the price as key, downward ones its negative: both fire at key <= x.
class TriggerHeap {
 public:
  struct Entry {
    std::int64_t key = kNever;
    std::uint32_t watch = 0;  ///< its number within the symbol
  };

  TriggerHeap(std::span<Entry> entries, std::span<std::uint32_t> place) : entries_(entries), place_(place) {}

  [[nodiscard]] std::int64_t top_key() const { return entries_.empty() ? kNever : entries_.front().key; }
  [[nodiscard]] std::uint32_t top() const { return entries_.front().watch; }

  /// Makes a heap of the keys as they stand; O(n).
  void build() {
    for (std::uint32_t i = 0; i < size(); ++i) place_[entries_[i].watch] = i;
    for (std::uint32_t i = size() / 2; i-- > 0;) sink(i);
  }

  /// O(log n).
  void update(std::uint32_t watch, std::int64_t key) {
    const std::uint32_t at = place_[watch];
    const std::int64_t old = entries_[at].key;
    if (key == old) return;
    entries_[at].key = key;
    if (key < old) rise(at);
    else sink(at);
  }

 private:
  [[nodiscard]] std::uint32_t size() const { return static_cast<std::uint32_t>(entries_.size()); }

  void put(std::uint32_t at, Entry entry) {
    entries_[at] = entry;
    place_[entry.watch] = at;
  }

  void rise(std::uint32_t at) {
    const Entry entry = entries_[at];
    while (at > 0) {
      const std::uint32_t parent = (at - 1) / 2;
      if (entries_[parent].key <= entry.key) break;
      put(at, entries_[parent]);
      at = parent;
    }
    put(at, entry);
  }

  void sink(std::uint32_t at) {
    const Entry entry = entries_[at];
    for (;;) {
      std::uint32_t child = 2 * at + 1;
      if (child >= size()) break;
      if (child + 1 < size() && entries_[child + 1].key < entries_[child].key) ++child;
      if (entry.key <= entries_[child].key) break;
      put(at, entries_[child]);
      at = child;
    }
    put(at, entry);
  }

  std::span<Entry> entries_;
  std::span<std::uint32_t> place_;
};

}  // namespace brimwatch
