#include "tape/bytes.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <string_view>
#include <utility>

#include "files/descriptor.h"

namespace brimwatch {
namespace {

class FileBytes final : public ByteSource {
 public:
  using Taken = std::shared_ptr<std::atomic<std::uint64_t>>;
  FileBytes(Descriptor file, std::string name, Taken taken)
      : file_(std::move(file)), name_(std::move(name)), taken_(std::move(taken)) {}

  Result<std::size_t> read(std::span<char> room) override {
    for (;;) {
      const ssize_t got = ::read(number(), room.data(), room.size());
      if (got >= 0) {
        taken_->fetch_add(static_cast<std::uint64_t>(got), std::memory_order_relaxed);
        return static_cast<std::size_t>(got);
      }
      if (errno != EINTR) return fail(name_ + ": cannot be read: " + std::strerror(errno));
    }
  }

 private:
  [[nodiscard]] int number() const { return file_.is_open() ? file_.get() : STDIN_FILENO; }

  Descriptor file_;  ///< none: standard input, which is not ours to close
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

Result<Descriptor> open_file(const std::string& path) {
  Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (!file.is_open()) return fail(path + ": cannot be opened: " + std::strerror(errno));
  ::posix_fadvise(file.get(), 0, 0, POSIX_FADV_SEQUENTIAL);
  return file;
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
  auto file = path == "-" ? Result<Descriptor>() : open_file(path);
  if (!file) return tl::unexpected<Error>(file.error());
  const int number = file->is_open() ? file->get() : STDIN_FILENO;
  const auto taken = std::make_shared<std::atomic<std::uint64_t>>(0);
  out.taken = taken;
  out.bytes = std::make_unique<FileBytes>(std::move(*file), out.name, taken);
  struct stat facts {};
  if (::fstat(number, &facts) == 0) {
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
