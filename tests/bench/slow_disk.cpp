// A disk that is slow to make things durable, for LD_PRELOAD: every fsync, fdatasync and pwrite takes
// BRIMWATCH_SLOW_DISK_MS milliseconds longer.
#include <dlfcn.h>
#include <sys/types.h>

#include <cstdlib>
#include <ctime>

namespace {

void be_slow() {
  static const char* const text = std::getenv("BRIMWATCH_SLOW_DISK_MS");
  const long ms = text == nullptr ? 0 : std::atol(text);
  const timespec time{ms / 1000, ms % 1000 * 1'000'000};
  nanosleep(&time, nullptr);
}

template <typename Function>
Function real(const char* name) {
  return reinterpret_cast<Function>(dlsym(RTLD_NEXT, name));
}

}  // namespace

extern "C" {

int fsync(int file) {
  be_slow();
  return real<int (*)(int)>("fsync")(file);
}
int fdatasync(int file) {
  be_slow();
  return real<int (*)(int)>("fdatasync")(file);
}
ssize_t pwrite64(int file, const void* bytes, size_t size, off64_t at) {
  be_slow();
  return real<ssize_t (*)(int, const void*, size_t, off64_t)>("pwrite64")(file, bytes, size, at);
}

}  // extern "C"
