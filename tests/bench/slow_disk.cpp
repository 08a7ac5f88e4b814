// A disk that is slow to make things durable, for LD_PRELOAD: every fsync, fdatasync and pwrite takes
// BRIMWATCH_SLOW_DISK_MS milliseconds longer; and while the file BRIMWATCH_HUNG_DISK exists none of them returns. And a
// name server that is mute: no getaddrinfo returns while the file BRIMWATCH_HUNG_NAMES exists.
#include <dlfcn.h>
#include <netdb.h>
#include <sys/types.h>
#include <unistd.h>

#include <cstdlib>
#include <ctime>

namespace {

void wait(long ms) {
  const timespec time{ms / 1000, ms % 1000 * 1'000'000};
  nanosleep(&time, nullptr);
}

void wait_while(const char* file) {
  while (file != nullptr && access(file, F_OK) == 0) wait(5);
}

void be_slow() {
  static const char* const text = std::getenv("BRIMWATCH_SLOW_DISK_MS");
  static const char* const hung = std::getenv("BRIMWATCH_HUNG_DISK");
  if (text != nullptr) wait(std::atol(text));
  wait_while(hung);
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

int getaddrinfo(const char* host, const char* service, const addrinfo* hints, addrinfo** found) {
  wait_while(std::getenv("BRIMWATCH_HUNG_NAMES"));
  return real<int (*)(const char*, const char*, const addrinfo*, addrinfo**)>("getaddrinfo")(host, service, hints, found);
}

}  // extern "C"
