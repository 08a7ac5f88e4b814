#include "loop/lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace brimwatch {

tl::expected<InstanceLock, InstanceLock::Refusal> InstanceLock::take(const std::string& path) {
  const int fd = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (fd < 0) return tl::unexpected(Refusal{"lock " + path + ": " + std::strerror(errno), false});
  if (::flock(fd, LOCK_EX | LOCK_NB) != 0) {
    std::array<char, 32> holder{};
    const ssize_t got = ::pread(fd, holder.data(), holder.size() - 1, 0);
    ::close(fd);
    return tl::unexpected(Refusal{"lock " + path + ": another brimwatch holds it (process " +
                                      std::string(got > 0 ? holder.data() : "unknown") +
                                      "); stop that one first, or give this one a journal of its own",
                                  true});
  }
  // The number is for that message only: a full disk must not keep the daemon from starting.
  const std::string me = std::to_string(::getpid());
  if (::ftruncate(fd, 0) == 0) (void)!::pwrite(fd, me.data(), me.size(), 0);
  return InstanceLock(fd);
}

InstanceLock::~InstanceLock() {
  if (fd_ >= 0) ::close(fd_);  // the file stays: removing it would let two processes lock two files of one name
}

}  // namespace brimwatch
