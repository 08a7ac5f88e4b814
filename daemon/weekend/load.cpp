// Files of daily bars: which there are, and their text.
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

#include "weekend/prepare.h"

namespace brimwatch {

Result<std::string> read_file(const std::string& path) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return fail(path + ": cannot be read: " + std::strerror(errno));
  struct stat about {};
  std::string text;
  if (::fstat(file, &about) == 0 && about.st_size > 0) text.resize(static_cast<std::size_t>(about.st_size));
  std::size_t have = 0;
  while (true) {
    if (have == text.size()) text.resize(text.size() + 65536);
    const ssize_t got = ::read(file, text.data() + have, text.size() - have);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) {
      const std::string why = std::strerror(errno);
      ::close(file);
      return fail(path + ": cannot be read: " + why);
    }
    if (got == 0) break;
    have += static_cast<std::size_t>(got);
  }
  ::close(file);
  text.resize(have);
  return text;
}

Result<DailySeries> load_daily(const std::string& path) {
  auto text = read_file(path);
  if (!text) return tl::unexpected(text.error());
  return parse_daily(*text, std::filesystem::path(path).stem().string(), path);
}

}  // namespace brimwatch
