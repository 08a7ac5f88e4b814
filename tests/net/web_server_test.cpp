// The server from outside, by bytes on a socket: what a hostile page, a careless script or a stalled peer would send.
// Sources: RFC 9110 and 9112 (HTTP), RFC 6455 (WebSocket; the key and its answer are the example of section 1.3).
#include "adapters/net/web_server.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/time.h>
#include <unistd.h>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/write.hpp>
#include <future>
#include <thread>
#include <vector>

#include "upgrade.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

class Running {
 public:
  explicit Running(WebLimits limits = {}) {
    auto server = WebServer::listen(loop_, 0,
                                    {[this](const WebRequest& request, const WebServer::Content::Reply& reply) {
                                       const std::string_view path = request.path;
                                       ++asked;
                                       if (path == "/never") return kept.push_back(reply);
                                       if (request.post)
                                         return reply({200, "text/plain", "took " + std::string(request.body)});
                                       reply(path == "/" ? WebReply(200, "text/plain", std::string("home"))
                                                         : WebReply(404, "text/plain", std::string("nothing")));
                                     },
                                     [](bool fresh, const WebServer::Content::Text& text) {
                                       text(std::make_shared<const std::string>(fresh ? "first" : "later"));
                                     },
                                     [this](const tcp::endpoint&, const tcp::endpoint&) { return user.load(); }},
                                    limits);
    EXPECT_TRUE(server) << (server ? "" : server.error().text);
    server_ = std::move(*server);
    port = server_->port();
    thread_ = std::thread([this] { loop_.run(); });
  }
  ~Running() {
    asio::post(loop_, [this] { server_.reset(); });
    thread_.join();
    kept.clear();  // before the loop whose sockets they hold
  }
  WebCounters counters() {
    std::promise<WebCounters> said;
    asio::post(loop_, [&] { said.set_value(server_->counters()); });
    return said.get_future().get();
  }
  [[nodiscard]] std::string host() const { return "127.0.0.1:" + std::to_string(port); }

  int port = 0;
  std::atomic<int> asked = 0;
  std::atomic<uid_t> user = ::geteuid();        ///< at the other end
  std::vector<WebServer::Content::Reply> kept;  ///< of those who are never answered

 private:
  asio::io_context loop_;
  std::unique_ptr<WebServer> server_;
  std::thread thread_;
};

/// A blocking peer that gives up after 20 s.
class Peer {
 public:
  explicit Peer(int port, const char* address = "127.0.0.1") : socket_(loop_) {
    socket_.connect({asio::ip::make_address(address), static_cast<asio::ip::port_type>(port)});
    const timeval patience{20, 0};
    setsockopt(socket_.native_handle(), SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  }
  void send(const std::string& bytes) {
    boost::system::error_code ignored;
    asio::write(socket_, asio::buffer(bytes), ignored);
  }
  std::string until_end() {
    for (std::string all;;) {
      const std::string more = some();
      if (more.empty()) return all;
      all += more;
    }
  }
  std::string until(const std::string& mark) {
    std::string all;
    while (all.find(mark) == std::string::npos) {
      const std::string more = some();
      if (more.empty()) break;
      all += more;
    }
    return all;
  }

 private:
  /// Blocking recv, so that SO_RCVTIMEO holds.
  std::string some() {
    char bytes[4096];
    const auto got = ::recv(socket_.native_handle(), bytes, sizeof bytes, 0);
    return got > 0 ? std::string(bytes, static_cast<std::size_t>(got)) : std::string();
  }
  asio::io_context loop_;
  tcp::socket socket_;
};

std::string ask(const Running& server, const std::string& request) {
  Peer peer(server.port);
  peer.send(request);
  return peer.until_end();
}

std::string get(const std::string& host, const std::string& path = "/", const std::string& more = "") {
  return "GET " + path + " HTTP/1.1\r\nHost: " + host + "\r\n" + more + "\r\n";
}

TEST(WebServer, AnswersToItsThreeNamesOnly) {
  Running server;
  const std::string end = ":" + std::to_string(server.port);
  for (const char* name : {"127.0.0.1", "localhost", "[::1]"})
    EXPECT_THAT(ask(server, get(name + end)), StartsWith("HTTP/1.1 200")) << name;
  const int asked = server.asked;
  for (const std::string& name :
       {"evil.example" + end, std::string("127.0.0.1"), "127.0.0.1" + end + "0", "localhost." + end,
        "LOCALHOST.evil" + end, "127.0.0.1" + end + ".evil.example", std::string()})
    EXPECT_THAT(ask(server, get(name)), StartsWith("HTTP/1.1 421")) << name;
  EXPECT_THAT(ask(server, "GET / HTTP/1.1\r\n\r\n"), StartsWith("HTTP/1.1 421"));
  EXPECT_THAT(ask(server, get(server.host(), "/", "Host: evil.example\r\n")), StartsWith("HTTP/1.1 4"));
  EXPECT_EQ(server.asked, asked) << "a stranger reached a route";
}

TEST(WebServer, EveryAnswerCarriesTheGuards) {
  Running server;
  for (const std::string& answer :
       {ask(server, get(server.host())), ask(server, get(server.host(), "/none")), ask(server, get("evil.example"))}) {
    EXPECT_THAT(answer, HasSubstr("Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'"));
    EXPECT_THAT(answer, HasSubstr("X-Content-Type-Options: nosniff\r\n"));
    EXPECT_THAT(answer, HasSubstr("Referrer-Policy: no-referrer\r\n"));
    EXPECT_THAT(answer, HasSubstr("Cache-Control: no-store\r\n"));
    EXPECT_THAT(answer, Not(HasSubstr("Access-Control-Allow")));
  }
}

TEST(WebServer, HeadHasTheLengthAndNoBody) {
  Running server;
  const std::string answer = ask(server, "HEAD / HTTP/1.1\r\nHost: " + server.host() + "\r\n\r\n");
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 200"));
  EXPECT_THAT(answer, HasSubstr("Content-Length: 4\r\n"));
  EXPECT_TRUE(answer.ends_with("\r\n\r\n")) << answer;
}

TEST(WebServer, NothingCanBeSentToIt) {
  Running server;
  for (const char* method : {"PUT", "DELETE", "OPTIONS", "TRACE", "NONSENSE"})
    EXPECT_THAT(ask(server, std::string(method) + " / HTTP/1.1\r\nHost: " + server.host() + "\r\n\r\n"),
                StartsWith("HTTP/1.1 405"))
        << method;
  EXPECT_THAT(ask(server, get(server.host(), "/", "Content-Length: 5\r\n") + "hello"), StartsWith("HTTP/1.1 400"));
  EXPECT_THAT(ask(server, "\x16\x03\x01 this is no HTTP\r\n\r\n"), StartsWith("HTTP/1.1 400"));
  EXPECT_EQ(server.asked, 0);
}

std::string post(const std::string& host, const std::string& body, const std::string& origin, const std::string& type,
                 const std::string& more = "") {
  return "POST /answer HTTP/1.1\r\nHost: " + host + "\r\n" + (origin.empty() ? "" : "Origin: " + origin + "\r\n") +
         "Content-Type: " + type + "\r\nContent-Length: " + std::to_string(body.size()) + "\r\n" + more + "\r\n" + body;
}

// What a page of another site can make a browser send: a form (no JSON), a request without our origin, one that says so.
TEST(WebServer, OnlyItsOwnPageChangesAnything) {
  Running server;
  const std::string host = server.host(), ours = "http://" + host, json = "application/json";
  for (const std::string& origin :
       {std::string(), std::string("null"), std::string("http://evil.example"), "https://" + host})
    EXPECT_THAT(ask(server, post(host, "{}", origin, json)), StartsWith("HTTP/1.1 403")) << origin;
  EXPECT_THAT(ask(server, post(host, "{}", ours + "\r\nOrigin: http://evil.example", json)), StartsWith("HTTP/1.1 403"));
  for (const char* type :
       {"text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "application/jsonp"})
    EXPECT_THAT(ask(server, post(host, "{}", ours, type)), StartsWith("HTTP/1.1 415")) << type;
  EXPECT_THAT(ask(server, post(host, "{}", ours, json, "Sec-Fetch-Site: cross-site\r\n")), StartsWith("HTTP/1.1 403"));
  EXPECT_EQ(server.asked, 0);
  EXPECT_THAT(ask(server, post(host, R"({"a":1})", ours, json + "; charset=utf-8")), HasSubstr("\r\n\r\ntook {\"a\":1}"));
}

TEST(WebServer, APostHasALengthAndABound) {
  Running server;
  const std::string host = server.host(), ours = "http://" + host, json = "application/json";
  EXPECT_THAT(ask(server, post(host, std::string(5000, 'x'), ours, json)), StartsWith("HTTP/1.1 413"));
  EXPECT_THAT(
      ask(server, "POST / HTTP/1.1\r\nHost: " + host + "\r\nOrigin: " + ours +
                      "\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n"),
      StartsWith("HTTP/1.1 411"));
  int too_many = 0;
  for (int n = 0; n < 40; ++n) too_many += ask(server, post(host, "{}", ours, json)).starts_with("HTTP/1.1 429") ? 1 : 0;
  EXPECT_GE(too_many, 5);
}

TEST(WebServer, LongHeadersAreRefused) {
  Running server;
  EXPECT_THAT(ask(server, get(server.host(), "/", "X-Long: " + std::string(9000, 'x') + "\r\n")),
              StartsWith("HTTP/1.1 431"));
  EXPECT_THAT(ask(server, get(server.host(), "/", "X-Long: " + std::string(7000, 'x') + "\r\n")),
              StartsWith("HTTP/1.1 200"));
}

TEST(WebServer, APeerThatStallsIsLetGo) {
  WebLimits limits;
  limits.patience = std::chrono::milliseconds(50);
  Running server(limits);
  Peer peer(server.port);
  peer.send("GET / HTTP/1.1\r\nHo");
  EXPECT_EQ(peer.until_end(), "");
  EXPECT_THAT(ask(server, get(server.host())), StartsWith("HTTP/1.1 200"));
}

TEST(WebServer, HalfRequestsKeepNobodyOut) {
  WebLimits limits;
  limits.connections_most = 4;
  Running server(limits);
  std::vector<std::unique_ptr<Peer>> halves;
  for (int i = 0; i < 20; ++i) {
    halves.push_back(std::make_unique<Peer>(server.port));
    halves.back()->send("GET / HT");
  }
  EXPECT_THAT(ask(server, get(server.host())), StartsWith("HTTP/1.1 200"));
  EXPECT_EQ(halves.front()->until_end(), "") << "the oldest made room";
  const WebCounters counters = server.counters();
  EXPECT_LE(counters.connections, 4U);
  EXPECT_GE(counters.made_room, 17U);
  EXPECT_EQ(counters.turned_away, 0U);
}

TEST(WebServer, NorDoThoseWhoWaitForALongAnswer) {
  WebLimits limits;
  limits.connections_most = 4;
  Running server(limits);
  std::vector<std::unique_ptr<Peer>> waiting;
  for (int i = 0; i < 8; ++i) {
    waiting.push_back(std::make_unique<Peer>(server.port));
    waiting.back()->send(get(server.host(), "/never"));
  }
  EXPECT_THAT(ask(server, get(server.host())), StartsWith("HTTP/1.1 200"));
}

TEST(WebServer, AListenerKeepsItsPlaceAndThereAreOnlySoMany) {
  WebLimits limits;
  limits.connections_most = 3;
  limits.listeners_most = 2;
  limits.live_every = std::chrono::milliseconds(5);
  Running server(limits);
  const std::string listen = get(server.host(), "/live", kUpgrade + ("Origin: http://" + server.host()) + "\r\n");
  Peer first(server.port), second(server.port);
  for (Peer* peer : {&first, &second}) {
    peer->send(listen);
    EXPECT_THAT(peer->until("first"), HasSubstr("101"));
  }
  EXPECT_THAT(ask(server, listen), StartsWith("HTTP/1.1 503"));
  Peer half(server.port);
  half.send("GET");
  EXPECT_THAT(ask(server, get(server.host())), StartsWith("HTTP/1.1 200"));
  EXPECT_EQ(server.counters().listeners, 2U);
  EXPECT_THAT(first.until("later"), HasSubstr("later"));
}

// Fetch Metadata Request Headers, W3C working draft: section 2 (the headers), section 4.1 (what a server does with them).
TEST(WebServer, APageOfAnotherSiteGetsNothingMade) {
  Running server;
  for (const char* site : {"cross-site", "same-site"}) {
    for (const char* path : {"/", "/now", "/metrics"})
      EXPECT_THAT(ask(server, get(server.host(), path, std::string("Sec-Fetch-Site: ") + site + "\r\n")),
                  StartsWith("HTTP/1.1 403"))
          << site << path;
    const std::string link = std::string("Sec-Fetch-Site: ") + site + "\r\nSec-Fetch-Mode: navigate\r\nSec-Fetch-Dest: ";
    EXPECT_THAT(ask(server, get(server.host(), "/", link + "document\r\n")), StartsWith("HTTP/1.1 200"));
    EXPECT_THAT(ask(server, get(server.host(), "/", link + "iframe\r\n")), StartsWith("HTTP/1.1 403"));
    EXPECT_THAT(ask(server, get(server.host(), "/now", link + "document\r\n")), StartsWith("HTTP/1.1 403"));
  }
  EXPECT_EQ(server.asked, 2);
  for (const char* site : {"same-origin", "none"})
    EXPECT_THAT(ask(server, get(server.host(), "/", std::string("Sec-Fetch-Site: ") + site + "\r\n")),
                StartsWith("HTTP/1.1 200"));
}

TEST(WebServer, AnotherUserOfTheMachineReadsNothing) {
  Running server;
  server.user = ::geteuid() + 1;
  const std::string answer = ask(server, get(server.host()));
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 403"));
  EXPECT_THAT(answer, HasSubstr("everybody"));
  EXPECT_EQ(server.asked, 0);
  std::vector<std::unique_ptr<Peer>> many;
  for (int i = 0; i < 100; ++i) many.push_back(std::make_unique<Peer>(server.port));
  while (server.counters().strangers < 101) std::this_thread::yield();  // all of them have come
  server.user = ::geteuid();
  EXPECT_THAT(ask(server, get(server.host())), StartsWith("HTTP/1.1 200"));
  EXPECT_EQ(server.counters().made_room, 0U) << "strangers take nobody's place";
  EXPECT_EQ(server.counters().strangers, 101U);
}

TEST(WebServer, TheAdministratorAndWithLeaveEverybodyReads) {
  Running server;
  server.user = 0;
  EXPECT_THAT(ask(server, get(server.host())), StartsWith("HTTP/1.1 200"));
  WebLimits limits;
  limits.everybody = true;
  Running open(limits);
  open.user = ::geteuid() + 1;
  EXPECT_THAT(ask(open, get(open.host())), StartsWith("HTTP/1.1 200"));
}

TEST(WebServer, ListensOnBothLoopbacks) {
  Running server;
  std::unique_ptr<Peer> peer;
  try {
    peer = std::make_unique<Peer>(server.port, "::1");
  } catch (const boost::system::system_error&) {
    GTEST_SKIP() << "this machine has no ::1";
  }
  peer->send(get("[::1]:" + std::to_string(server.port)));
  EXPECT_THAT(peer->until_end(), StartsWith("HTTP/1.1 200"));
}

TEST(WebServer, OnlyItsOwnPageMayListen) {
  Running server;
  for (const std::string& origin : {std::string(), "Origin: http://evil.example\r\n" + std::string(),
                                    "Origin: https://" + server.host() + "\r\n", std::string("Origin: null\r\n")})
    EXPECT_THAT(ask(server, get(server.host(), "/live", kUpgrade + origin)), StartsWith("HTTP/1.1 403")) << origin;
  EXPECT_THAT(ask(server, get(server.host(), "/live")), StartsWith("HTTP/1.1 426"));
  EXPECT_EQ(server.counters().listeners, 0U);
}

TEST(WebServer, AListenerHearsAtOnceAndThenAgain) {
  WebLimits limits;
  limits.live_every = std::chrono::milliseconds(5);
  Running server(limits);
  Peer peer(server.port);
  peer.send(get(server.host(), "/live", kUpgrade + ("Origin: http://" + server.host()) + "\r\n"));
  const std::string heard = peer.until("later");
  EXPECT_THAT(heard, StartsWith("HTTP/1.1 101"));
  EXPECT_THAT(heard, HasSubstr("s3pPLMBiTxaQ9kYGzzhZRbK+xOo="));  // RFC 6455, section 1.3
  EXPECT_THAT(heard, HasSubstr("Content-Security-Policy"));
  EXPECT_LT(heard.find("first"), heard.find("later"));
}

TEST(WebServer, AListenerThatNeverReadsNorAnswersIsLetGo) {
  WebLimits limits;
  limits.patience = std::chrono::milliseconds(50);
  limits.live_every = std::chrono::milliseconds(5);
  Running server(limits);
  Peer peer(server.port);
  peer.send(get(server.host(), "/live", kUpgrade + ("Origin: http://" + server.host()) + "\r\n"));
  EXPECT_THAT(peer.until_end(), StartsWith("HTTP/1.1 101"));  // it ends, for our pings go unanswered
}

}  // namespace
}  // namespace brimwatch
