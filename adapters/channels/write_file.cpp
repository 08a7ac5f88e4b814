#include "adapters/channels/write_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <system_error>

#include "adapters/channels/crypto.h"
#include "core/text.h"

namespace brimwatch {
namespace {

tl::unexpected<Error> fail_errno(const std::string& path, const char* what) {
  return fail(clean_line(path, 300) + ": " + what + ": " + std::strerror(errno));
}

bool write_all(int fd, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t put = ::write(fd, bytes.data(), bytes.size());
    if (put < 0 && errno == EINTR) continue;
    if (put < 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(put));
  }
  return ::fsync(fd) == 0;
}

/// The new name is on disk only when the directory is.
void sync_directory(const std::string& directory) {
  const int fd = ::open(directory.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (fd < 0) return;
  ::fsync(fd);
  ::close(fd);
}

Status make_directory(const std::string& directory) {
  std::error_code error;
  if (std::filesystem::is_directory(directory, error)) return {};
  std::filesystem::create_directories(directory, error);
  if (error) return fail(clean_line(directory, 300) + ": cannot be made: " + error.message());
  std::filesystem::permissions(directory, std::filesystem::perms::owner_all, error);
  return {};
}

}  // namespace

Status write_whole_file(const std::string& directory, const std::string& name, std::string_view bytes) {
  if (const Status made = make_directory(directory); !made) return made;
  const std::string path = directory + "/" + name;
  std::string temporary = directory + "/." + name + ".XXXXXX";
  const int fd = ::mkostemp(temporary.data(), O_CLOEXEC);
  if (fd < 0) return fail_errno(path, "cannot be made");
  const bool written = write_all(fd, bytes);
  const int kept = errno;
  ::close(fd);
  if (!written || std::rename(temporary.c_str(), path.c_str()) != 0) {
    if (!written) errno = kept;
    const auto failure = fail_errno(path, "cannot be written");
    ::unlink(temporary.c_str());
    return failure;
  }
  sync_directory(directory);
  return {};
}

std::string file_name_of(std::string_view text) {
  std::string name;
  for (const char c : text.substr(0, 80)) {
    const bool safe = (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '-' ||
                      c == '_' || (c == '.' && !name.empty());
    name += safe ? c : '_';
  }
  return name + "-" + sha256_hex(text, 8);
}

}  // namespace brimwatch
