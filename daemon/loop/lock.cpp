#include "loop/lock.h"

#include <unistd.h>

#include <array>

#include "files/own_files.h"

namespace brimwatch {

tl::expected<InstanceLock, InstanceLock::Refusal> InstanceLock::take(const std::string& path) {
  auto file = open_lock_file(path);
  if (!file) return tl::unexpected(Refusal{"lock " + file.error().text, false});
  if (!try_lock(*file)) {
    std::array<char, 32> holder{};
    const ssize_t got = ::pread(file->get(), holder.data(), holder.size() - 1, 0);
    return tl::unexpected(Refusal{"lock " + path + ": another brimwatch holds it (process " +
                                      std::string(got > 0 ? holder.data() : "unknown") +
                                      "); stop that one first, or give this one a journal of its own",
                                  true});
  }
  // The number is for that message only: a full disk must not keep the daemon from starting.
  write_lock_owner(*file, std::to_string(::getpid()));
  return InstanceLock(std::move(*file));
}

}  // namespace brimwatch
