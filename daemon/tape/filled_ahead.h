#pragma once
// One thread makes things ahead, another takes them in order: a ring of slots between the two. A filler that has filled
// the ring rests until half of it is taken, so that the threads do not wake each other at every slot.
#include <array>
#include <condition_variable>
#include <cstddef>
#include <functional>
#include <mutex>
#include <thread>
#include <utility>

namespace brimwatch {

/// `Slot` is default-constructible and is used again and again, so that it may keep its memory. The filler must not be
/// one that can wait for ever: the destructor waits for it to return.
template <typename Slot, std::size_t kSlots>
requires(kSlots >= 2) class FilledAhead {
 public:
  /// `fill` makes the next slot, on the other thread, and says whether there will be another.
  explicit FilledAhead(std::function<bool(Slot&)> fill) : fill_(std::move(fill)), thread_([this] { work(); }) {}
  ~FilledAhead() {
    {
      const std::lock_guard lock(mutex_);
      stop_ = true;
    }
    changed_.notify_all();
    thread_.join();
  }
  FilledAhead(const FilledAhead&) = delete;
  FilledAhead& operator=(const FilledAhead&) = delete;

  /// The next slot, the caller's until the next call. After the last one: that one, again and again.
  [[nodiscard]] Slot& next() {
    std::unique_lock lock(mutex_);
    const bool at_last = ended_ && taken_ + 1 == filled_;
    if (holding_ && !at_last && filled_ - ++taken_ == kSlots / 2) changed_.notify_one();
    changed_.wait(lock, [this] { return filled_ > taken_; });
    holding_ = true;
    return slots_[taken_ % kSlots];
  }

 private:
  void work() {
    for (bool more = true; more;) {
      {
        std::unique_lock lock(mutex_);
        if (filled_ - taken_ == kSlots) changed_.wait(lock, [this] { return stop_ || filled_ - taken_ <= kSlots / 2; });
        if (stop_) return;
      }
      more = fill_(slots_[filled_ % kSlots]);  // only this thread writes filled_, and the taker stays out of this slot
      const std::lock_guard lock(mutex_);
      ended_ = !more;
      if (++filled_ - taken_ == 1) changed_.notify_one();
    }
  }

  std::function<bool(Slot&)> fill_;
  std::array<Slot, kSlots> slots_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::size_t filled_ = 0, taken_ = 0;
  bool holding_ = false, ended_ = false, stop_ = false;
  std::thread thread_;  // last: it uses all of the above
};

}  // namespace brimwatch
