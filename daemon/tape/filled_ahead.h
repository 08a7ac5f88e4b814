#pragma once
// One thread makes things ahead, another takes them in order: a ring of slots between the two. Rings can stand in a row,
// each made from what the one before holds, and share one helper: whoever takes from an empty ring fills it himself when
// nobody else is at it, so that two threads are busy however the work divides among the rings.
#include <array>
#include <condition_variable>
#include <cstddef>
#include <functional>
#include <memory>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

namespace brimwatch {

class AheadRing;

/// A thread that fills rings, the oldest first. One that is full rests until half of it is taken, so that the threads do
/// not wake each other at every slot.
class Helper {
 public:
  Helper() : thread_([this] { work(); }) {}
  ~Helper();
  Helper(const Helper&) = delete;
  Helper& operator=(const Helper&) = delete;

 private:
  friend class AheadRing;
  void work();

  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<AheadRing*> rings_;
  bool stop_ = false;
  std::thread thread_;  // last: it uses all of the above
};

/// The ring without its slots. One thread takes.
class AheadRing {
 public:
  /// `fill` makes slot number i, on the helper's thread or on the taker's, never on both at once, and says whether there
  /// will be another. It must not be one that can wait for ever: the destructor waits for it to return.
  AheadRing(std::shared_ptr<Helper> helper, std::size_t slots, std::function<bool(std::size_t)> fill);
  ~AheadRing();
  AheadRing(const AheadRing&) = delete;
  AheadRing& operator=(const AheadRing&) = delete;

  /// The next slot, the caller's until the next call. After the last one: that one, again and again.
  [[nodiscard]] std::size_t next();

 private:
  friend class Helper;
  void fill(std::unique_lock<std::mutex>& lock) noexcept;  ///< what throws ends the program, on either thread

  const std::shared_ptr<Helper> helper_;
  const std::size_t slots_;
  const std::function<bool(std::size_t)> fill_;
  std::size_t filled_ = 0, taken_ = 0;
  bool holding_ = false;  ///< the taker has slot number taken_
  bool busy_ = false;     ///< somebody fills slot number filled_
  bool resting_ = false, ended_ = false;
};

/// `Slot` is default-constructible and is used again and again, so that it may keep its memory.
template <typename Slot, std::size_t kSlots>
requires(kSlots >= 2) class FilledAhead {
 public:
  /// See AheadRing.
  FilledAhead(std::shared_ptr<Helper> helper, std::function<bool(Slot&)> fill)
      : fill_(std::move(fill)), ring_(std::move(helper), kSlots, [this](std::size_t i) { return fill_(slots_[i]); }) {}

  [[nodiscard]] Slot& next() { return slots_[ring_.next()]; }

 private:
  std::function<bool(Slot&)> fill_;
  std::array<Slot, kSlots> slots_;
  AheadRing ring_;  // last: the helper uses all of the above
};

}  // namespace brimwatch
