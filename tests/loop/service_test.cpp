// sd_notify against a real datagram socket, as systemd's manual describes it: KEY=VALUE lines, no answer.
#include "loop/service.h"

#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <array>
#include <cstdlib>
#include <cstring>

namespace brimwatch {
namespace {

class NotifySocket {
 public:
  NotifySocket() : fd_(::socket(AF_UNIX, SOCK_DGRAM, 0)) {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    const std::string name =
        "brimwatch-notify-" + std::to_string(::getpid());  // abstract: '@' stands for the leading NUL
    std::memcpy(address.sun_path + 1, name.data(), name.size());
    EXPECT_EQ(
        ::bind(fd_, reinterpret_cast<sockaddr*>(&address), static_cast<socklen_t>(sizeof(sa_family_t) + 1 + name.size())),
        0);
    ::setenv("NOTIFY_SOCKET", ("@" + name).c_str(), 1);
  }
  ~NotifySocket() {
    ::unsetenv("NOTIFY_SOCKET");
    ::close(fd_);
  }
  std::string next() const {
    std::array<char, 512> text{};
    const ssize_t got = ::recv(fd_, text.data(), text.size(), MSG_DONTWAIT);
    return got > 0 ? std::string(text.data(), static_cast<std::size_t>(got)) : std::string();
  }

 private:
  int fd_;
};

TEST(Service, SaysWhatTheManagerExpects) {
  const NotifySocket socket;
  const Service service;
  service.ready("40 watches\nup");
  EXPECT_EQ(socket.next(), "READY=1\nSTATUS=40 watches up");
  service.reloading();
  EXPECT_EQ(socket.next(), "RELOADING=1\nSTATUS=reading the configuration");
  service.alive();
  EXPECT_EQ(socket.next(), "WATCHDOG=1");
  service.stopping("draining");
  EXPECT_EQ(socket.next(), "STOPPING=1\nSTATUS=draining");
}

TEST(Service, WatchdogIsFedAtHalfItsInterval) {
  ::setenv("WATCHDOG_USEC", "10000000", 1);
  ::setenv("WATCHDOG_PID", std::to_string(::getpid()).c_str(), 1);
  EXPECT_EQ(Service().watchdog_interval(), 5 * kSecond);
  ::unsetenv("WATCHDOG_USEC");
  ::unsetenv("WATCHDOG_PID");
  EXPECT_EQ(Service().watchdog_interval(), 0);
}

TEST(Service, OutsideSystemdItSaysNothing) { Service().ready("nobody hears"); }

}  // namespace
}  // namespace brimwatch
