#include "loop/lock.h"

#include <unistd.h>

#include <array>

#include "files/own_files.h"

namespace brimwatch {

tl::expected<InstanceLock, InstanceLock::Refusal> InstanceLock::take(const std::string& path) {
  const auto opened = open_lock_file(path);
  if (!opened) return tl::unexpected(Refusal{"lock " + opened.error().text, false});
  const int fd = *opened;
  if (!try_lock(fd)) {
    std::array<char, 32> holder{};
    const ssize_t got = ::pread(fd, holder.data(), holder.size() - 1, 0);
    ::close(fd);
    return tl::unexpected(Refusal{"lock " + path + ": another brimwatch holds it (process " +
                                      std::string(got > 0 ? holder.data() : "unknown") +
                                      "); stop that one first, or give this one a journal of its own",
                                  true});
  }
  // The number is for that message only: a full disk must not keep the daemon from starting.
  write_lock_owner(fd, std::to_string(::getpid()));
  return InstanceLock(fd);
}

InstanceLock::~InstanceLock() {
  if (fd_ >= 0) ::close(fd_);  // the file stays: removing it would let two processes lock two files of one name
}

}  // namespace brimwatch
