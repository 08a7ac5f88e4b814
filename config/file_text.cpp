#include "config/file_text.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

namespace brimwatch {
namespace {

class Descriptor {
 public:
  explicit Descriptor(int fd) : fd_(fd) {}
  ~Descriptor() {
    if (fd_ >= 0) ::close(fd_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  [[nodiscard]] int get() const { return fd_; }

 private:
  int fd_;
};

std::string why() { return std::strerror(errno); }

Result<std::string> read_all(int fd, std::uint64_t size, std::uint64_t most_bytes) {
  std::string text(size, '\0');
  std::size_t filled = 0;
  for (;;) {
    if (filled == text.size()) text.resize(text.size() + 4096);  // it may have grown, or say 0 as /proc does
    const ssize_t got = ::read(fd, text.data() + filled, text.size() - filled);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return fail("found a file that cannot be read (" + why() + "), expected a readable one");
    if (got == 0) break;
    filled += static_cast<std::size_t>(got);
    if (filled > most_bytes) return fail("found a file that grew over " + std::to_string(most_bytes) + " bytes");
  }
  text.resize(filled);
  return text;
}

}  // namespace

Result<std::string> read_text(const std::string& path, std::uint64_t most_bytes) {
  const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (file.get() < 0 && errno == ENOENT) return fail("found no such file");
  if (file.get() < 0) return fail("found a file that cannot be opened (" + why() + "), expected a readable one");
  struct stat facts {};
  if (::fstat(file.get(), &facts) != 0) return fail("found a file that cannot be looked at (" + why() + ")");
  if (!S_ISREG(facts.st_mode)) return fail("found something that is not a file, expected a file");
  const auto size = static_cast<std::uint64_t>(facts.st_size);
  if (size > most_bytes) {
    return fail("found " + std::to_string(size) + " bytes, expected at most " + std::to_string(most_bytes));
  }
  return read_all(file.get(), size, most_bytes);
}

}  // namespace brimwatch
