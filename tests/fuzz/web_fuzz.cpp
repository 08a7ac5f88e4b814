// Any bytes to the status page's server, over a real connection: it answers or hangs up, shows nothing to a stranger, and
// is fine afterwards. "PORT" in the input becomes the port, without which no request gets past the first check.
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <boost/asio/io_context.hpp>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "adapters/net/web_server.h"

namespace {

using namespace brimwatch;

void require(bool good) {
  if (!good) std::abort();
}

struct Server {
  Server() {
    server =
        WebServer::listen(loop, 0,
                          {[](const WebRequest& request, const auto& reply) {
                             require(!request.path.empty());
                             reply(WebReply{request.path == "/" ? 200 : 404, "text/plain", std::string("the inside\n")});
                           },
                           [](bool, const auto& text) { text(std::make_shared<const std::string>("live")); }})
            .value();
  }
  boost::asio::io_context loop{1};
  std::unique_ptr<WebServer> server;
};

std::string with_port(std::string text, int port) {
  for (std::size_t at = 0; (at = text.find("PORT", at)) != std::string::npos;) text.replace(at, 4, std::to_string(port));
  return text;
}

int connect_to(int port) {
  const int peer = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in where{};
  where.sin_family = AF_INET;
  where.sin_port = htons(static_cast<std::uint16_t>(port));
  where.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  const linger none{1, 0};  // no connection lingers: there are many
  setsockopt(peer, SOL_SOCKET, SO_LINGER, &none, sizeof none);
  require(::connect(peer, reinterpret_cast<const sockaddr*>(&where), sizeof where) == 0);
  return peer;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static Server server;
  if (size > 20'000) return 0;
  const std::string request = with_port({reinterpret_cast<const char*>(data), size}, server.server->port());
  const int peer = connect_to(server.server->port());
  for (std::size_t sent = 0; sent < request.size();) {
    const ssize_t n = ::send(peer, request.data() + sent, request.size() - sent, MSG_NOSIGNAL | MSG_DONTWAIT);
    if (n <= 0) break;
    sent += static_cast<std::size_t>(n);
  }
  ::shutdown(peer, SHUT_WR);
  std::string answer;
  char some[4096];
  for (int turns = 0; turns < 1000; ++turns) {
    server.loop.restart();
    server.loop.poll();
    const ssize_t n = ::recv(peer, some, sizeof some, MSG_DONTWAIT);
    if (n == 0) break;
    if (n < 0 && errno != EAGAIN) break;
    if (n > 0) answer.append(some, static_cast<std::size_t>(n));
  }
  ::close(peer);
  for (int turns = 0; turns < 1000 && server.server->counters().connections + server.server->counters().listeners > 0;
       ++turns) {
    server.loop.restart();
    server.loop.poll();
  }
  require(server.server->counters().connections <= 64);
  if (!answer.empty()) require(answer.starts_with("HTTP/1.1 ") || answer.starts_with("HTTP/1.0 "));
  const std::string port = std::to_string(server.server->port());
  if (answer.find("the inside") != std::string::npos) require(request.find(":" + port) != std::string::npos);
  return 0;
}
