// A rehearsal's server and pages of other sites: RFC 9110 section 7.2 (Host), RFC 6455 section 10.2 (Origin).
#include "adapters/net/push_server.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/write.hpp>

#include "upgrade.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using testing::StartsWith;

struct Rehearsal {
  Rehearsal() {
    PushServer::Handlers handlers;
    handlers.on_open = [this](PushServer::Client) { ++opened; };
    handlers.on_text = [](PushServer::Client, std::string_view) {};
    handlers.on_end = [](PushServer::Client, const std::string&) {};
    handlers.answer = [](std::string_view, std::string_view) { return PushReply{200, "{}", ""}; };
    server = PushServer::listen(io, 0, std::move(handlers)).value();
  }
  std::string ask(const std::string& request) {
    tcp::socket peer(io);
    peer.connect({asio::ip::address_v4::loopback(), static_cast<asio::ip::port_type>(server->port())});
    asio::write(peer, asio::buffer(request));
    std::string answer(4096, '\0');
    std::size_t got = 0;
    bool done = false;
    peer.async_read_some(asio::buffer(answer), [&](const boost::system::error_code&, std::size_t size) {
      got = size;
      done = true;
    });
    while (!done && io.run_one_for(std::chrono::seconds(20)) > 0) {
    }
    answer.resize(got);
    return answer;
  }
  [[nodiscard]] std::string host() const { return "127.0.0.1:" + std::to_string(server->port()); }

  asio::io_context io;
  std::unique_ptr<PushServer> server;
  int opened = 0;
};

std::string quotes_request(const std::string& host, const std::string& more = "") {
  return "GET /quotes?symbols=KLVN HTTP/1.1\r\nHost: " + host + "\r\n" + more + "\r\n";
}

TEST(PushServer, AnswersToItsOwnNamesOnly) {
  Rehearsal rehearsal;
  EXPECT_THAT(rehearsal.ask(quotes_request(rehearsal.host())), StartsWith("HTTP/1.1 200"));
  const std::string end = ":" + std::to_string(rehearsal.server->port());
  for (const std::string& host : {"evil.example" + end, std::string("127.0.0.1"), "127.0.0.1" + end + ".evil.example"}) {
    EXPECT_THAT(rehearsal.ask(quotes_request(host)), StartsWith("HTTP/1.1 403")) << host;
    EXPECT_THAT(rehearsal.ask(quotes_request(host, kUpgrade)), StartsWith("HTTP/1.1 403")) << host;
  }
  EXPECT_EQ(rehearsal.opened, 0);
}

TEST(PushServer, APageOfAnotherSiteHearsNothing) {
  Rehearsal rehearsal;
  for (const char* origin : {"http://evil.example", "null", "https://127.0.0.1"}) {
    const std::string from = std::string("Origin: ") + origin + "\r\n";
    EXPECT_THAT(rehearsal.ask(quotes_request(rehearsal.host(), kUpgrade + from)), StartsWith("HTTP/1.1 403")) << origin;
  }
  EXPECT_THAT(rehearsal.ask(quotes_request(rehearsal.host(), kUpgrade)), StartsWith("HTTP/1.1 101"))
      << "a program says no origin";
  const std::string own = "Origin: http://" + rehearsal.host() + "\r\n";
  EXPECT_THAT(rehearsal.ask(quotes_request(rehearsal.host(), kUpgrade + own)), StartsWith("HTTP/1.1 101"));
}

}  // namespace
}  // namespace brimwatch
