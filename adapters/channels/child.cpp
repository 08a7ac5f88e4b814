#include "adapters/channels/child.h"

#include <fcntl.h>
#include <poll.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstring>

#include "adapters/process/spawn_plan.h"
#include "core/text/text.h"
#include "files/descriptor.h"

namespace brimwatch {
namespace {

using Clock = std::chrono::steady_clock;

tl::unexpected<Error> fail_errno(const std::string& what, int code) { return fail(what + ": " + std::strerror(code)); }

Status fill(int fd, std::string_view text) {
  while (!text.empty()) {
    const ssize_t put = ::write(fd, text.data(), text.size());
    if (put < 0 && errno == EINTR) continue;
    if (put < 0) return fail_errno("cannot keep the input", errno);
    text.remove_prefix(static_cast<std::size_t>(put));
  }
  if (::lseek(fd, 0, SEEK_SET) != 0) return fail_errno("cannot rewind the input", errno);
  return {};
}

/// Takes what the child says on standard error; keeps the start, throws away the rest so that it never blocks on us.
class Errors {
 public:
  explicit Errors(int fd) : fd_(fd) {}
  void take() {
    char buffer[4096];
    for (;;) {
      const ssize_t got = ::read(fd_, buffer, sizeof buffer);
      if (got < 0 && errno == EINTR) continue;
      if (got == 0) open_ = false;
      if (got <= 0) return;
      if (kept_.size() < kMost) kept_.append(buffer, std::min(static_cast<std::size_t>(got), kMost - kept_.size()));
    }
  }
  [[nodiscard]] bool open() const { return open_; }
  [[nodiscard]] std::string first_line() const {
    const std::size_t start = kept_.find_first_not_of("\r\n");
    return start == std::string::npos ? std::string()
                                      : clean_line(kept_.substr(start, kept_.find('\n', start) - start), 300);
  }

 private:
  static constexpr std::size_t kMost = 8192;
  int fd_;
  bool open_ = true;
  std::string kept_;
};

/// True when the child ended by itself before the deadline.
bool wait_for_end(int pidfd, int errors_fd, Errors& errors, Clock::time_point deadline) {
  for (;;) {
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(deadline - Clock::now()).count();
    if (left <= 0) return false;
    pollfd watched[2] = {{pidfd, POLLIN, 0}, {errors.open() ? errors_fd : -1, POLLIN, 0}};
    const int ready = ::poll(watched, 2, static_cast<int>(std::min<long long>(left, 60'000)));
    if (ready < 0 && errno != EINTR) return false;
    if (ready <= 0) continue;
    if (watched[1].revents != 0) errors.take();
    if (watched[0].revents != 0) return true;
  }
}

void reap(pid_t pid, ChildEnd& end) {
  int status = 0;
  pid_t got = 0;
  do got = ::waitpid(pid, &status, 0);
  while (got < 0 && errno == EINTR);
  if (got != pid) return;
  if (WIFEXITED(status)) end.exit_code = WEXITSTATUS(status);
  if (WIFSIGNALED(status)) end.signal = WTERMSIG(status);
}

}  // namespace

Result<ChildEnd> run_child(const ChildJob& job) {
  if (job.argv.empty()) return fail("no command is configured");
  const Clock::time_point deadline = Clock::now() + job.timeout;
  const Descriptor input(::memfd_create("notice", MFD_CLOEXEC));
  if (input.get() < 0) return fail_errno("cannot keep the input", errno);
  if (const Status filled = fill(input.get(), job.input); !filled) return tl::unexpected(filled.error());
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC | O_NONBLOCK) != 0) return fail_errno("cannot make a pipe", errno);
  const Descriptor from_child(ends[0]);
  Descriptor to_us(ends[1]);
  pid_t pid = -1;
  SpawnPlan plan;
  plan.give(STDIN_FILENO, input.get());
  plan.give_nothing(STDOUT_FILENO, O_WRONLY);
  plan.give(STDERR_FILENO, to_us.get());
  if (const int code = plan.spawn(job.argv, job.environment, pid); code != 0) {
    return fail_errno("cannot start " + clean_line(job.argv[0], 100), code);
  }
  to_us.close();
  const Descriptor pidfd(static_cast<int>(::syscall(SYS_pidfd_open, pid, 0)));
  Errors errors(from_child.get());
  ChildEnd end;
  end.timed_out = pidfd.get() < 0 || !wait_for_end(pidfd.get(), from_child.get(), errors, deadline);
  if (end.timed_out) ::kill(-pid, SIGKILL);
  reap(pid, end);
  errors.take();
  end.error_line = errors.first_line();
  return end;
}

}  // namespace brimwatch
