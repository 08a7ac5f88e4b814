#include "adapters/process/spawn_plan.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <csignal>

#include "files/descriptor.h"

namespace brimwatch {
namespace {

/// posix_spawn does not write to them.
std::vector<char*> pointers(const std::vector<std::string>& words) {
  std::vector<char*> out;
  for (const std::string& word : words) out.push_back(const_cast<char*>(word.c_str()));
  out.push_back(nullptr);
  return out;
}

}  // namespace

void SpawnPlan::give(int stream, int ours) { streams_.push_back({stream, ours, 0}); }

void SpawnPlan::give_nothing(int stream, int flags) { streams_.push_back({stream, -1, flags}); }

int SpawnPlan::spawn(const std::vector<std::string>& argv, const std::vector<std::string>& environment,
                     pid_t& pid) const {
  const auto words = pointers(argv);
  const auto values = pointers(environment);
  return ends_with_us_ ? spawn_bound(words.data(), values.data(), pid) : spawn_alone(words.data(), values.data(), pid);
}

int SpawnPlan::spawn_alone(char* const* words, char* const* values, pid_t& pid) const {
  posix_spawn_file_actions_t actions{};
  posix_spawnattr_t attributes{};
  posix_spawn_file_actions_init(&actions);
  posix_spawnattr_init(&attributes);
  sigset_t all, none;
  sigfillset(&all);
  sigemptyset(&none);
  posix_spawnattr_setsigdefault(&attributes, &all);
  posix_spawnattr_setsigmask(&attributes, &none);
  posix_spawnattr_setpgroup(&attributes, 0);
  posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETSIGMASK);
  for (const Stream& one : streams_) {
    if (one.ours >= 0) posix_spawn_file_actions_adddup2(&actions, one.ours, one.number);
    else posix_spawn_file_actions_addopen(&actions, one.number, "/dev/null", one.flags, 0);
  }
  posix_spawn_file_actions_addclosefrom_np(&actions, STDERR_FILENO + 1);
  const int code = ::posix_spawnp(&pid, words[0], &actions, &attributes, words, values);
  posix_spawn_file_actions_destroy(&actions);
  posix_spawnattr_destroy(&attributes);
  return code;
}

/// By fork: posix_spawn cannot bind a child to us. Why it could not be started comes back by a pipe, which the program
/// itself never sees.
int SpawnPlan::spawn_bound(char* const* words, char* const* values, pid_t& pid) const {
  std::array<int, 2> ends{};
  if (::pipe2(ends.data(), O_CLOEXEC) != 0) return errno;
  const Descriptor told(ends[0]);
  Descriptor tell(ends[1]);
  const pid_t starter = ::getpid();
  sigset_t all, before;
  sigfillset(&all);
  ::pthread_sigmask(SIG_SETMASK, &all, &before);  // no handler of ours may run in the child
  pid = ::fork();
  const int failure = errno;
  if (pid == 0) become(words, values, starter, tell.get());
  ::pthread_sigmask(SIG_SETMASK, &before, nullptr);
  if (pid < 0) return failure;
  tell.close();
  int code = 0;
  ssize_t got = 0;
  do got = ::read(told.get(), &code, sizeof code);
  while (got < 0 && errno == EINTR);
  if (got != static_cast<ssize_t>(sizeof code)) return 0;  // closed by exec
  ::waitpid(pid, nullptr, 0);
  pid = -1;
  return code;
}

/// In the child, which shares our threads' locks and nothing that could free them: system calls alone.
void SpawnPlan::become(char* const* words, char* const* values, pid_t starter, int tell) const {
  ::setpgid(0, 0);
  ::prctl(PR_SET_PDEATHSIG, SIGTERM);
  if (::getppid() != starter) ::_exit(127);  // it ended before the line above: no signal will come
  for (int number = 1; number < NSIG; ++number) ::signal(number, SIG_DFL);
  bool good = true;
  for (const Stream& one : streams_) {
    const int from = one.ours >= 0 ? one.ours : ::open("/dev/null", one.flags);
    good = good && from >= 0 && ::dup2(from, one.number) >= 0;
    if (from == one.number) ::fcntl(from, F_SETFD, 0);  // it stands there already: dup2 would leave it to be closed
  }
  ::close_range(STDERR_FILENO + 1, ~0U, CLOSE_RANGE_CLOEXEC);
  sigset_t none;
  sigemptyset(&none);
  ::sigprocmask(SIG_SETMASK, &none, nullptr);
  if (good) ::execvpe(words[0], words, values);
  const int code = errno;
  (void)!::write(tell, &code, sizeof code);
  ::_exit(127);
}

}  // namespace brimwatch
