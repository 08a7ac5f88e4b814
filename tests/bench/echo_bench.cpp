// What the machine itself takes: a message of 120 bytes over loopback to a bare Asio server and back, and an append of
// 4 KiB with fdatasync. Prints "echo_us P50 P99" and "fdatasync_us P50 P99".
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/asio.hpp>
#include <chrono>
#include <cstdio>
#include <thread>
#include <vector>

namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using Clock = std::chrono::steady_clock;

constexpr int kTrials = 5'000, kSyncs = 500;
constexpr std::size_t kMessage = 120;

double micros(Clock::duration span) { return std::chrono::duration<double, std::micro>(span).count(); }

void print(const char* name, std::vector<double> all) {
  std::sort(all.begin(), all.end());
  std::printf("%s %.0f %.0f\n", name, all[all.size() / 2], all[all.size() * 99 / 100]);
}

/// Reads and writes back, asynchronously, as a daemon would.
struct Echo {
  explicit Echo(tcp::socket from) : socket(std::move(from)) { socket.set_option(tcp::no_delay(true)); }
  void read() {
    socket.async_read_some(asio::buffer(buffer), [this](const boost::system::error_code& error, std::size_t bytes) {
      if (error) return;
      asio::async_write(socket, asio::buffer(buffer, bytes),
                        [this](const boost::system::error_code& failed, std::size_t) {
                          if (!failed) read();
                        });
    });
  }
  tcp::socket socket;
  std::array<char, 4096> buffer{};
};

std::vector<double> measure_echo() {
  asio::io_context io;
  tcp::acceptor acceptor(io, {asio::ip::address_v4::loopback(), 0});
  const auto where = acceptor.local_endpoint();
  std::thread server([&] {
    Echo echo(acceptor.accept());
    echo.read();
    io.run();
  });
  asio::io_context mine;
  tcp::socket socket(mine);
  socket.connect(where);
  socket.set_option(tcp::no_delay(true));
  std::vector<double> all;
  std::array<char, kMessage> message{};
  for (int i = 0; i < kTrials; ++i) {
    const auto start = Clock::now();
    asio::write(socket, asio::buffer(message));
    asio::read(socket, asio::buffer(message));
    all.push_back(micros(Clock::now() - start));
  }
  socket.close();
  server.join();
  return all;
}

std::vector<double> measure_fdatasync(const char* path) {
  const int file = ::open(path, O_CREAT | O_WRONLY | O_TRUNC | O_CLOEXEC, 0600);
  std::vector<double> all;
  const std::vector<char> page(4096, 'x');
  for (int i = 0; i < kSyncs && file >= 0; ++i) {
    const auto start = Clock::now();
    if (::write(file, page.data(), page.size()) < 0 || ::fdatasync(file) != 0) break;
    all.push_back(micros(Clock::now() - start));
  }
  ::close(file);
  ::unlink(path);
  return all;
}

}  // namespace

int main(int argc, char** argv) {
  print("echo_us", measure_echo());
  const auto syncs = measure_fdatasync(argc > 1 ? argv[1] : "sync.tmp");
  if (!syncs.empty()) print("fdatasync_us", syncs);
  return 0;
}
