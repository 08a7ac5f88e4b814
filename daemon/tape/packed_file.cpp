#include "tape/packed_file.h"

#include <unistd.h>
#include <zstd.h>

#include <cerrno>
#include <cstring>
#include <utility>
#include <vector>

#include "files/own_files.h"

namespace brimwatch {
namespace {

constexpr int kLevel = 3;
constexpr std::uint64_t kFrame = 4 << 20;  ///< bytes of text after which a flush ends the frame
constexpr std::size_t kPlainBuffer = 128 * 1024;

/// A file that knows its name and how much was written.
class CountedFile {
 public:
  CountedFile(Descriptor file, std::string path) : file_(std::move(file)), path_(std::move(path)) {}

  Status write(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t done = ::write(file_.get(), bytes.data(), bytes.size());
      if (done < 0 && errno == EINTR) continue;
      if (done < 0) return fail(path_ + ": cannot be written: " + std::strerror(errno));
      bytes.remove_prefix(static_cast<std::size_t>(done));
      size_ += static_cast<std::uint64_t>(done);
    }
    return {};
  }
  [[nodiscard]] std::uint64_t size() const { return size_; }

 private:
  Descriptor file_;
  std::string path_;
  std::uint64_t size_ = 0;
};

class PlainFile final : public PackedFile {
 public:
  PlainFile(Descriptor file, std::string path) : file_(std::move(file), std::move(path)) {}
  Status append(std::string_view bytes) override {
    buffer_ += bytes;
    return buffer_.size() < kPlainBuffer ? Status() : flush();
  }
  Status flush() override {
    const Status written = file_.write(buffer_);
    buffer_.clear();
    return written;
  }
  Status close() override { return flush(); }
  [[nodiscard]] std::uint64_t size() const override { return file_.size(); }

 private:
  CountedFile file_;
  std::string buffer_;
};

class ZstdFile final : public PackedFile {
 public:
  ZstdFile(Descriptor file, std::string path)
      : file_(std::move(file), std::move(path)), context_(ZSTD_createCCtx()), buffer_(ZSTD_CStreamOutSize()) {
    ZSTD_CCtx_setParameter(context_, ZSTD_c_compressionLevel, kLevel);
    ZSTD_CCtx_setParameter(context_, ZSTD_c_checksumFlag, 1);
  }
  ~ZstdFile() override { ZSTD_freeCCtx(context_); }
  ZstdFile(const ZstdFile&) = delete;
  ZstdFile& operator=(const ZstdFile&) = delete;

  Status append(std::string_view bytes) override {
    in_frame_ += bytes.size();
    return pack(bytes, ZSTD_e_continue);
  }
  Status flush() override {
    const bool end = in_frame_ >= kFrame;
    if (end) in_frame_ = 0;
    return pack({}, end ? ZSTD_e_end : ZSTD_e_flush);
  }
  Status close() override {
    if (in_frame_ == 0) return {};
    in_frame_ = 0;
    return pack({}, ZSTD_e_end);
  }
  [[nodiscard]] std::uint64_t size() const override { return file_.size(); }

 private:
  Status pack(std::string_view bytes, ZSTD_EndDirective what) {
    ZSTD_inBuffer in{bytes.data(), bytes.size(), 0};
    for (;;) {
      ZSTD_outBuffer out{buffer_.data(), buffer_.size(), 0};
      const std::size_t left = ZSTD_compressStream2(context_, &out, &in, what);
      if (ZSTD_isError(left)) return fail(std::string("zstd cannot pack: ") + ZSTD_getErrorName(left));
      if (const auto written = file_.write({buffer_.data(), out.pos}); !written) return written;
      if (what == ZSTD_e_continue ? in.pos == in.size : left == 0) return {};
    }
  }

  CountedFile file_;
  ZSTD_CCtx* context_;
  std::vector<char> buffer_;
  std::uint64_t in_frame_ = 0;
};

}  // namespace

Result<std::unique_ptr<PackedFile>> PackedFile::create(const std::string& path, Packing packing) {
  auto made = create_new_file(path);
  if (!made) return tl::unexpected(made.error());
  switch (packing) {
    case Packing::none:
      return std::make_unique<PlainFile>(std::move(*made), path);
    case Packing::zstd:
      return std::make_unique<ZstdFile>(std::move(*made), path);
  }
  return fail(path + ": no such packing");
}

}  // namespace brimwatch
