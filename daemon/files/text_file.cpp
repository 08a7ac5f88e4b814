#include "files/text_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

#include "files/descriptor.h"

namespace brimwatch {
namespace {

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
  if (!file.is_open() && errno == ENOENT) return fail("found no such file");
  if (!file.is_open()) return fail("found a file that cannot be opened (" + why() + "), expected a readable one");
  struct stat facts {};
  if (::fstat(file.get(), &facts) != 0) return fail("found a file that cannot be looked at (" + why() + ")");
  if (!S_ISREG(facts.st_mode)) return fail("found something that is not a file, expected a file");
  const auto size = static_cast<std::uint64_t>(facts.st_size);
  if (size > most_bytes) {
    return fail("found " + std::to_string(size) + " bytes, expected at most " + std::to_string(most_bytes));
  }
  return read_all(file.get(), size, most_bytes);
}

Result<std::string> read_file(const std::string& path, std::uint64_t most_bytes) {
  auto text = read_text(path, most_bytes);
  return text ? std::move(text) : fail(path + ": " + text.error().text);
}

bool is_there(const std::string& path) {
  return ::access(path.c_str(), F_OK) == 0 || (errno != ENOENT && errno != ENOTDIR);
}

Status look_into(const std::string& folder) {
  struct stat facts {};
  if (::stat(folder.c_str(), &facts) != 0) {
    if (errno == ENOENT) return fail(folder + ": found no such folder");
    return fail(folder + ": found a folder that cannot be reached (" + why() + "), expected a readable one");
  }
  if (!S_ISDIR(facts.st_mode)) return fail(folder + ": found something that is not a folder, expected a folder");
  if (::access(folder.c_str(), R_OK | X_OK) == 0) return {};
  return fail(folder + ": found a folder that may not be entered (" + why() + "), expected a readable one");
}

}  // namespace brimwatch
