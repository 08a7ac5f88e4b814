// Any bytes to the control socket, over a real connection, in pieces: one line is one request, more than 4 KiB is none,
// and what is asked is known or refused.
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <boost/asio/io_context.hpp>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "answers/message.h"
#include "app/request.h"
#include "loop/control.h"

namespace {

using namespace brimwatch;

void require(bool good) {
  if (!good) std::abort();
}

/// What is read of an answer is read again as it was; what is refused is refused in one line.
void read_as_answer(std::string_view bytes) {
  const auto request = request_of(bytes);
  if (!request) return require(request.error().text.find('\n') == std::string::npos);
  const std::string text = to_json(*request);
  const auto again = request_of(text);
  require(again && to_json(*again) == text);
}

struct Server {
  Server() {
    server = ControlServer::listen(loop, path, [this](std::string_view request, const ControlServer::Reply& reply) {
               require(request.size() < 4096 && request.find('\n') == std::string_view::npos);
               ++asked;
               reply(ask_of(request) == Ask::unknown ? "no\n" : "yes\n");
             }).value();
  }
  ~Server() { ::unlink(path.c_str()); }
  std::string path = "/tmp/control-fuzz-" + std::to_string(::getpid());
  boost::asio::io_context loop{1};
  std::unique_ptr<ControlServer> server;
  int asked = 0;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static Server server;
  (void)ask_of({reinterpret_cast<const char*>(data), size});
  read_as_answer({reinterpret_cast<const char*>(data), size});
  const int peer = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_un where{};
  where.sun_family = AF_UNIX;
  server.path.copy(where.sun_path, sizeof where.sun_path - 1);
  require(::connect(peer, reinterpret_cast<const sockaddr*>(&where), sizeof where) == 0);
  const int before = server.asked;
  std::string answer;
  char some[256];
  std::size_t sent = 0;
  bool open = true;
  for (int turns = 0; turns < 1000 && open; ++turns) {
    const std::size_t piece = std::min<std::size_t>(size - sent, 1 + static_cast<std::size_t>(turns) * 97 % 1500);
    if (piece > 0) {
      const ssize_t n = ::send(peer, data + sent, piece, MSG_NOSIGNAL | MSG_DONTWAIT);
      sent = n > 0 ? sent + static_cast<std::size_t>(n) : size;
    } else {
      ::shutdown(peer, SHUT_WR);
    }
    server.loop.restart();
    server.loop.poll();
    const ssize_t n = ::recv(peer, some, sizeof some, MSG_DONTWAIT);
    if (n > 0) answer.append(some, static_cast<std::size_t>(n));
    open = n > 0 || (n < 0 && errno == EAGAIN);
  }
  ::close(peer);
  server.loop.restart();
  server.loop.poll();
  require(server.asked - before <= 1 && (answer.empty() || answer == "yes\n" || answer == "no\n"));
  return 0;
}
