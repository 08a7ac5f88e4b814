#include "adapters/feeds/connections/child.h"

#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <memory>

#include "adapters/process/spawn_plan.h"
#include "files/descriptor.h"

namespace brimwatch {
namespace {

struct Pipe {
  Descriptor read, write;

  [[nodiscard]] bool open() {
    std::array<int, 2> ends{};
    if (::pipe2(ends.data(), O_CLOEXEC) != 0) return false;
    read = Descriptor(ends[0]);
    write = Descriptor(ends[1]);
    return true;
  }
};

constexpr auto kLook = std::chrono::milliseconds(20);
constexpr int kLooksBeforeKill = 100;  // two seconds

/// Waits for a child that has been asked to end. Holds itself alive through its timer.
class Reaper : public std::enable_shared_from_this<Reaper> {
 public:
  Reaper(boost::asio::io_context& io, pid_t pid, std::function<void(const std::string&)> told)
      : timer_(io), pid_(pid), told_(std::move(told)) {}
  ~Reaper() {
    if (pid_ < 0) return;
    ::kill(-pid_, SIGKILL);
    ::waitpid(pid_, nullptr, 0);
  }
  Reaper(const Reaper&) = delete;
  Reaper& operator=(const Reaper&) = delete;

  void begin() {
    ::kill(-pid_, SIGTERM);
    look();
  }

 private:
  void look() {
    int status = 0;
    const pid_t ended = ::waitpid(pid_, &status, WNOHANG);
    if (ended != 0) {
      ::kill(-pid_, SIGKILL);  // what it started and left behind
      pid_ = -1;
      if (told_) told_(ended > 0 ? describe_exit(status) : std::string("is gone"));
      return;
    }
    if (++looks_ == kLooksBeforeKill) ::kill(-pid_, SIGKILL);
    timer_.expires_after(kLook);
    timer_.async_wait([self = shared_from_this()](const boost::system::error_code& error) {
      if (!error) self->look();
    });
  }

  boost::asio::steady_timer timer_;
  pid_t pid_;
  std::function<void(const std::string&)> told_;
  int looks_ = 0;
};

}  // namespace

Result<Child> spawn_child(const std::vector<std::string>& argv, const std::vector<std::string>& environment) {
  if (argv.empty()) return fail("no program to start");
  Pipe out, err;
  if (!out.open() || !err.open()) return fail("cannot make a pipe: " + std::string(::strerror(errno)));
  SpawnPlan plan;
  plan.end_with_us();
  plan.give_nothing(STDIN_FILENO, O_RDONLY);
  plan.give(STDOUT_FILENO, out.write.get());
  plan.give(STDERR_FILENO, err.write.get());
  Child child;
  const int error = plan.spawn(argv, environment, child.pid);
  if (error != 0) return fail("cannot start " + argv[0] + ": " + ::strerror(error));
  child.out = out.read.release();
  child.err = err.read.release();
  return child;
}

std::string describe_exit(int wait_status) {
  if (WIFEXITED(wait_status)) return "ended with code " + std::to_string(WEXITSTATUS(wait_status));
  if (!WIFSIGNALED(wait_status)) return "ended";
  const int number = WTERMSIG(wait_status);
  return "was killed by signal " + std::to_string(number) + " (" + ::strsignal(number) + ")";
}

void end_child(boost::asio::io_context& io, pid_t pid, std::function<void(const std::string& how)> told) {
  std::make_shared<Reaper>(io, pid, std::move(told))->begin();
}

}  // namespace brimwatch
