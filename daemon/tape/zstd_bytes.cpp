#include <zstd.h>

#include <string>
#include <utility>
#include <vector>

#include "tape/bytes.h"

namespace brimwatch {
namespace {

class ZstdBytes final : public ByteSource {
 public:
  ZstdBytes(std::unique_ptr<ByteSource> packed, std::string name)
      : packed_(std::move(packed)), name_(std::move(name)), context_(ZSTD_createDCtx()), input_(ZSTD_DStreamInSize()) {}
  ~ZstdBytes() override { ZSTD_freeDCtx(context_); }
  ZstdBytes(const ZstdBytes&) = delete;
  ZstdBytes& operator=(const ZstdBytes&) = delete;

  Result<std::size_t> read(std::span<char> room) override {
    ZSTD_outBuffer out{room.data(), room.size(), 0};
    while (out.pos < out.size && !ended_) {
      if (in_.pos == in_.size) {
        // Decoded bytes may still wait inside the decoder when its last output filled the room.
        if (out.pos > 0 && !output_was_full_) break;
        if (!output_was_full_) {
          const auto more = refill();
          if (!more) return tl::unexpected<Error>(more.error());
          if (ended_) break;
        }
      }
      const std::size_t before = in_.pos + out.pos;
      const std::size_t hint = ZSTD_decompressStream(context_, &out, &in_);
      if (ZSTD_isError(hint)) return damaged(hint);
      if (in_.pos + out.pos != before) frame_open_ = hint != 0;  // a call that did nothing says nothing about the frame
      output_was_full_ = out.pos == out.size;
    }
    produced_ += out.pos;
    return out.pos;
  }

  [[nodiscard]] bool torn() const override { return ended_ && (frame_open_ || packed_->torn()); }

 private:
  Status refill() {
    const auto got = packed_->read(input_);
    if (!got) return tl::unexpected<Error>(got.error());
    in_ = {input_.data(), *got, 0};
    ended_ = *got == 0;
    return {};
  }

  tl::unexpected<Error> damaged(std::size_t code) const {
    return fail(name_ + ": the zstd data is damaged (" + ZSTD_getErrorName(code) + ") about " +
                std::to_string(produced_) + " bytes into the text; what came before was read");
  }

  std::unique_ptr<ByteSource> packed_;
  std::string name_;
  ZSTD_DCtx* context_;
  std::vector<char> input_;
  ZSTD_inBuffer in_{nullptr, 0, 0};
  std::uint64_t produced_ = 0;
  bool frame_open_ = false, ended_ = false, output_was_full_ = false;
};

}  // namespace

std::unique_ptr<ByteSource> unzstd(std::unique_ptr<ByteSource> packed, std::string name) {
  return std::make_unique<ZstdBytes>(std::move(packed), std::move(name));
}

}  // namespace brimwatch
