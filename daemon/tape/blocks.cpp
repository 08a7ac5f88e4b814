#include "tape/blocks.h"

#include <utility>
#include <vector>

#include "tape/filled_ahead.h"

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

class AheadBlocks final : public Blocks {
 public:
  AheadBlocks(std::unique_ptr<ByteSource> bytes, std::shared_ptr<Helper> helper)
      : bytes_(std::move(bytes)), ahead_(std::move(helper), [this](Slot& slot) { return fill(slot); }) {}

  Result<std::span<char>> next() override {
    Slot& slot = ahead_.next();
    torn_ = slot.torn;
    return slot.size.map([&slot](std::size_t size) { return slot.buffer.room().first(size); });
  }
  [[nodiscard]] bool torn() const override { return torn_; }

 private:
  struct Slot {
    Buffer buffer;
    Result<std::size_t> size = 0;
    bool torn = false;
  };

  bool fill(Slot& slot) {
    slot.size = bytes_->read(slot.buffer.room());
    const bool more = slot.size && *slot.size > 0;
    slot.torn = !more && bytes_->torn();
    return more;
  }

  std::unique_ptr<ByteSource> bytes_;
  bool torn_ = false;
  FilledAhead<Slot, 16> ahead_;  // last: the helper uses the bytes
};

}  // namespace

std::unique_ptr<Blocks> blocks_of(std::unique_ptr<ByteSource> bytes) {
  return std::make_unique<DirectBlocks>(std::move(bytes));
}
std::unique_ptr<Blocks> blocks_ahead(std::unique_ptr<ByteSource> bytes, std::shared_ptr<Helper> helper) {
  return std::make_unique<AheadBlocks>(std::move(bytes), std::move(helper));
}

}  // namespace brimwatch
