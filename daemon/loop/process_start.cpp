#include "loop/process_start.h"

#include <fcntl.h>
#include <unistd.h>

#include <csignal>

namespace brimwatch {

bool prepare_process() {
  std::signal(SIGXFSZ, SIG_IGN);
  for (int descriptor = STDIN_FILENO; descriptor <= STDERR_FILENO; ++descriptor) {
    if (::fcntl(descriptor, F_GETFD) != -1) continue;
    // The lowest that is free is this one: those below it are open by now.
    if (::open("/dev/null", O_RDWR) != descriptor) return false;
  }
  return true;
}

}  // namespace brimwatch
