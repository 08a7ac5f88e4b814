#include <zlib.h>

#include <string>
#include <utility>
#include <vector>

#include "tape/bytes.h"

namespace brimwatch {
namespace {

constexpr std::size_t kInput = 128 * 1024;
constexpr int kGzipOnly = 16 + MAX_WBITS;

/// gzip, RFC 1952: one member after another, as `cat a.gz b.gz` and the writers of logs make them.
class GzipBytes final : public ByteSource {
 public:
  GzipBytes(std::unique_ptr<ByteSource> packed, std::string name)
      : packed_(std::move(packed)), name_(std::move(name)), input_(kInput) {
    usable_ = inflateInit2(&stream_, kGzipOnly) == Z_OK;
  }
  ~GzipBytes() override { inflateEnd(&stream_); }
  GzipBytes(const GzipBytes&) = delete;
  GzipBytes& operator=(const GzipBytes&) = delete;

  Result<std::size_t> read(std::span<char> room) override {
    if (!usable_) return fail(name_ + ": no memory to unpack gzip");
    stream_.next_out = reinterpret_cast<Bytef*>(room.data());
    stream_.avail_out = static_cast<uInt>(room.size());
    while (stream_.avail_out == room.size() && !ended_) {
      if (const auto done = step(); !done) return tl::unexpected<Error>(done.error());
    }
    const std::size_t made = room.size() - stream_.avail_out;
    produced_ += made;
    return made;
  }

  [[nodiscard]] bool torn() const override { return ended_ && (member_open_ || packed_->torn()); }

 private:
  Status step() {
    if (stream_.avail_in == 0) {
      const auto got = packed_->read(input_);
      if (!got) return tl::unexpected<Error>(got.error());
      stream_.next_in = reinterpret_cast<Bytef*>(input_.data());
      stream_.avail_in = static_cast<uInt>(*got);
      ended_ = *got == 0;
      if (ended_) return {};
    }
    member_open_ = true;
    const int code = inflate(&stream_, Z_NO_FLUSH);
    if (code == Z_STREAM_END) {
      member_open_ = false;
      inflateReset2(&stream_, kGzipOnly);
    } else if (code != Z_OK && code != Z_BUF_ERROR) {
      return fail(name_ + ": the gzip data is damaged (" + (stream_.msg != nullptr ? stream_.msg : "no reason given") +
                  ") about " + std::to_string(produced_) + " bytes into the text; what came before was read");
    }
    return {};
  }

  std::unique_ptr<ByteSource> packed_;
  std::string name_;
  std::vector<char> input_;
  z_stream stream_{};
  std::uint64_t produced_ = 0;
  bool usable_ = false, member_open_ = false, ended_ = false;
};

}  // namespace

std::unique_ptr<ByteSource> gunzip(std::unique_ptr<ByteSource> packed, std::string name) {
  return std::make_unique<GzipBytes>(std::move(packed), std::move(name));
}

}  // namespace brimwatch
