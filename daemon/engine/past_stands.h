#pragma once
// Where watches stood before each trade that changed them, so that a trade can be taken back. One ring for all watches,
// for few of them change on a day: the oldest change makes room for the newest. A watch knows the number of its newest
// change, each change that of the one before it.
#include <algorithm>
#include <cstdint>
#include <vector>

#include "core/state.h"

namespace brimwatch {

class PastStands {
 public:
  struct Entry {
    WatchPast past;
    std::uint32_t number = 0, earlier = 0;  ///< 0: none
  };

  PastStands() { ring_.resize(1); }

  /// Allocates. What is there is kept, as far as it fits.
  void make_room(std::size_t watches) {
    const std::size_t wanted = std::clamp<std::size_t>(16 * watches, 4096, 32768);
    if (wanted <= ring_.size()) return;
    std::vector<Entry> wider(wanted);
    for (const Entry& entry : ring_) {
      if (entry.number != 0) wider[entry.number % wanted] = entry;
    }
    ring_ = std::move(wider);
  }

  /// The number of the new change, whose watch's newest was `earlier`.
  std::uint32_t add(const WatchPast& past, std::uint32_t earlier) {
    if (++newest_ == 0) ++newest_;
    ring_[newest_ % ring_.size()] = {past, newest_, earlier};
    return newest_;
  }

  /// nullptr: there is none, or it has made room.
  [[nodiscard]] const Entry* find(std::uint32_t number) const {
    const Entry& entry = ring_[number % ring_.size()];
    return number != 0 && entry.number == number ? &entry : nullptr;
  }

  /// A watch's changes, the newest first; kPastMost at the most.
  template <typename Visit>
  void each(std::uint32_t newest, Visit&& visit) const {
    const Entry* entry = find(newest);
    for (std::size_t i = 0; i < kPastMost && entry != nullptr; ++i) {
      if (!visit(*entry)) return;
      entry = find(entry->earlier);
    }
  }

 private:
  std::vector<Entry> ring_;
  std::uint32_t newest_ = 0;
};

}  // namespace brimwatch
