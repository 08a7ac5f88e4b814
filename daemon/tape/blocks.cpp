#include "tape/blocks.h"

#include <array>
#include <condition_variable>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>
#include <vector>

namespace brimwatch {
namespace {

class Buffer {
 public:
  Buffer() : bytes_(kHeadroom + kBlock + kSlack) {}
  [[nodiscard]] std::span<char> room() { return std::span<char>(bytes_).subspan(kHeadroom, kBlock); }

 private:
  std::vector<char> bytes_;
};

class DirectBlocks final : public Blocks {
 public:
  explicit DirectBlocks(std::unique_ptr<ByteSource> bytes) : bytes_(std::move(bytes)) {}
  Result<std::span<char>> next() override {
    return bytes_->read(buffer_.room()).map([this](std::size_t got) { return buffer_.room().first(got); });
  }
  [[nodiscard]] bool torn() const override { return bytes_->torn(); }

 private:
  std::unique_ptr<ByteSource> bytes_;
  Buffer buffer_;
};

/// A ring of kRing buffers between one thread that fills and one that takes. The taker holds one of them until it asks
/// for the next, so the filler may be at most kRing - 1 ahead.
class AheadBlocks final : public Blocks {
 public:
  explicit AheadBlocks(std::unique_ptr<ByteSource> bytes) : bytes_(std::move(bytes)), thread_([this] { fill(); }) {}
  ~AheadBlocks() override {
    {
      const std::lock_guard lock(mutex_);
      stop_ = true;
    }
    changed_.notify_all();
    thread_.join();
  }
  AheadBlocks(const AheadBlocks&) = delete;
  AheadBlocks& operator=(const AheadBlocks&) = delete;

  Result<std::span<char>> next() override {
    std::unique_lock lock(mutex_);
    if (holding_) {
      holding_ = false;
      ++taken_;
      changed_.notify_all();
    }
    changed_.wait(lock, [this] { return filled_ > taken_; });
    const Slot& slot = ring_[taken_ % kRing];
    if (!slot.size) return tl::unexpected<Error>(slot.size.error());
    if (*slot.size == 0) return std::span<char>();
    holding_ = true;
    return ring_[taken_ % kRing].buffer.room().first(*slot.size);
  }
  [[nodiscard]] bool torn() const override {
    const std::lock_guard lock(mutex_);
    return torn_;
  }

 private:
  static constexpr std::size_t kRing = 4;
  struct Slot {
    Buffer buffer;
    Result<std::size_t> size = 0;
  };

  void fill() {
    for (bool more = true; more;) {
      {
        std::unique_lock lock(mutex_);
        changed_.wait(lock, [this] { return stop_ || filled_ - taken_ < kRing; });
        if (stop_) return;
      }
      Slot& slot = ring_[filled_ % kRing];  // only this thread writes filled_, and the taker stays out of this slot
      slot.size = bytes_->read(slot.buffer.room());
      more = slot.size && *slot.size > 0;
      const std::lock_guard lock(mutex_);
      torn_ = !more && bytes_->torn();
      ++filled_;
      changed_.notify_all();
    }
  }

  std::unique_ptr<ByteSource> bytes_;
  std::array<Slot, kRing> ring_;
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::size_t filled_ = 0, taken_ = 0;
  bool holding_ = false, stop_ = false, torn_ = false;
  std::thread thread_;  // last: it uses all of the above
};

}  // namespace

std::unique_ptr<Blocks> blocks_of(std::unique_ptr<ByteSource> bytes) {
  return std::make_unique<DirectBlocks>(std::move(bytes));
}
std::unique_ptr<Blocks> blocks_ahead(std::unique_ptr<ByteSource> bytes) {
  return std::make_unique<AheadBlocks>(std::move(bytes));
}

}  // namespace brimwatch
