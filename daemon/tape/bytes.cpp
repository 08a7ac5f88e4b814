#include "tape/bytes.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <string_view>
#include <utility>

namespace brimwatch {
namespace {

class FileBytes final : public ByteSource {
 public:
  using Taken = std::shared_ptr<std::atomic<std::uint64_t>>;
  FileBytes(int descriptor, std::string name, Taken taken)
      : descriptor_(descriptor), name_(std::move(name)), taken_(std::move(taken)) {}
  ~FileBytes() override {
    if (descriptor_ != STDIN_FILENO) ::close(descriptor_);
  }
  FileBytes(const FileBytes&) = delete;
  FileBytes& operator=(const FileBytes&) = delete;

  Result<std::size_t> read(std::span<char> room) override {
    for (;;) {
      const ssize_t got = ::read(descriptor_, room.data(), room.size());
      if (got >= 0) {
        taken_->fetch_add(static_cast<std::uint64_t>(got), std::memory_order_relaxed);
        return static_cast<std::size_t>(got);
      }
      if (errno != EINTR) return fail(name_ + ": cannot be read: " + std::strerror(errno));
    }
  }

 private:
  int descriptor_;
  std::string name_;
  Taken taken_;
};

class MemoryBytes final : public ByteSource {
 public:
  explicit MemoryBytes(std::string text) : text_(std::move(text)) {}
  Result<std::size_t> read(std::span<char> room) override {
    const std::size_t count = std::min(room.size(), text_.size() - at_);
    std::memcpy(room.data(), text_.data() + at_, count);
    at_ += count;
    return count;
  }

 private:
  std::string text_;
  std::size_t at_ = 0;
};

/// Gives back bytes that were looked at, then goes on with the source.
class Peeked final : public ByteSource {
 public:
  Peeked(std::string head, std::unique_ptr<ByteSource> rest) : head_(std::move(head)), rest_(std::move(rest)) {}
  Result<std::size_t> read(std::span<char> room) override {
    if (at_ == head_.size()) return rest_->read(room);
    const std::size_t count = std::min(room.size(), head_.size() - at_);
    std::memcpy(room.data(), head_.data() + at_, count);
    at_ += count;
    return count;
  }
  [[nodiscard]] bool torn() const override { return rest_->torn(); }

 private:
  std::string head_;
  std::unique_ptr<ByteSource> rest_;
  std::size_t at_ = 0;
};

/// The first `count` bytes (fewer at the end), with the source put together again behind them.
Result<std::string> peek(std::unique_ptr<ByteSource>& source, std::size_t count) {
  std::string head(count, '\0');
  std::size_t used = 0;
  while (used < count) {
    const auto got = source->read(std::span<char>(head).subspan(used));
    if (!got) return tl::unexpected<Error>(got.error());
    if (*got == 0) break;
    used += *got;
  }
  head.resize(used);
  source = std::make_unique<Peeked>(head, std::move(source));
  return head;
}

Result<int> open_file(const std::string& path) {
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) return fail(path + ": cannot be opened: " + std::strerror(errno));
  ::posix_fadvise(descriptor, 0, 0, POSIX_FADV_SEQUENTIAL);
  return descriptor;
}

bool is_zstd(std::string_view head) {
  if (head.size() < 4) return false;
  // A frame, or one of the sixteen kinds of skippable frame (RFC 8878, sections 3.1.1 and 3.1.2).
  return head.substr(0, 4) == "\x28\xB5\x2F\xFD" || (head.substr(1, 3) == "\x2A\x4D\x18" && (head[0] & '\xF0') == '\x50');
}

bool is_gzip(std::string_view head) { return head.size() >= 2 && head.substr(0, 2) == "\x1F\x8B"; }

}  // namespace

std::unique_ptr<ByteSource> memory_bytes(std::string text) { return std::make_unique<MemoryBytes>(std::move(text)); }

Result<OpenedBytes> open_bytes(const std::string& path) {
  OpenedBytes out;
  out.name = path == "-" ? "standard input" : path;
  const auto descriptor = path == "-" ? Result<int>(STDIN_FILENO) : open_file(path);
  if (!descriptor) return tl::unexpected<Error>(descriptor.error());
  const auto taken = std::make_shared<std::atomic<std::uint64_t>>(0);
  out.taken = taken;
  out.bytes = std::make_unique<FileBytes>(*descriptor, out.name, taken);
  struct stat facts {};
  if (::fstat(*descriptor, &facts) == 0) {
    if (S_ISDIR(facts.st_mode)) return fail(path + ": is a directory, expected a tape");
    out.regular_file = S_ISREG(facts.st_mode);
    if (out.regular_file) out.file_bytes = static_cast<std::uint64_t>(facts.st_size);
  }
  auto head = peek(out.bytes, 4);
  if (!head) return tl::unexpected<Error>(head.error());
  out.compressed = is_zstd(*head) || is_gzip(*head);
  if (is_zstd(*head)) out.bytes = unzstd(std::move(out.bytes), out.name);
  if (is_gzip(*head)) out.bytes = gunzip(std::move(out.bytes), out.name);
  head = peek(out.bytes, kFrameFileMagic.size());
  if (!head) return tl::unexpected<Error>(head.error());
  if (*head == kFrameFileMagic) out.kind = RecordingKind::frames;
  return out;
}

}  // namespace brimwatch
