#include "loop/clock.h"

#include <ctime>

namespace brimwatch {
namespace {

Nanos read(clockid_t which) {
  timespec now{};
  clock_gettime(which, &now);
  return now.tv_sec * kSecond + now.tv_nsec;
}

}  // namespace

Timestamp wall_now() { return Timestamp{read(CLOCK_REALTIME)}; }
/// Goes on while the computer sleeps.
Nanos steady_now() { return read(CLOCK_BOOTTIME); }

}  // namespace brimwatch
