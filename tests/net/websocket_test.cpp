// The client against an independent server (python3-websockets), and against one that breaks the rules byte by byte.
#include "adapters/net/websocket.h"

#include <gmock/gmock.h>

#include "servers.h"
#include "tests/feeds/rig.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

/// A client and what became of it.
struct Client {
  explicit Client(WebSocketOptions with) : options(std::move(with)) {
    WebSocketHandlers handlers;
    handlers.on_open = [this] { open = true; };
    handlers.on_message = [this](std::string_view message) { got.emplace_back(message); };
    handlers.on_end = [this](const WebSocketEnd& about) { ends.push_back(about); };
    socket = std::make_unique<WebSocket>(rig.io, options, std::move(handlers));
    socket->open();
    EXPECT_THAT(ends, IsEmpty()) << "no call from within open()";
  }
  [[nodiscard]] bool until_open() {
    return rig.run_until([this] { return open || !ends.empty(); }) && open;
  }
  [[nodiscard]] bool until_end() {
    return rig.run_until([this] { return !ends.empty(); });
  }
  [[nodiscard]] std::string why() {
    EXPECT_TRUE(until_end());
    return ends.empty() ? "" : ends[0].text;
  }

  Rig rig;
  WebSocketOptions options;
  std::unique_ptr<WebSocket> socket;
  bool open = false;
  std::vector<std::string> got;
  std::vector<WebSocketEnd> ends;
};

WebSocketOptions plain(const Server& server) {
  WebSocketOptions options;
  options.url = "ws://127.0.0.1:" + server.port + "/feed";
  options.insecure_loopback = true;
  return options;
}

WebSocketOptions secure(const Server& server, const std::string& trusted) {
  WebSocketOptions options;
  options.url = "wss://127.0.0.1:" + server.port + "/feed";
  options.ca_file = certificates() + "/" + trusted + ".pem";
  return options;
}

TEST(WebSocket, TalksWithAnIndependentServer) {
  Server server("websocket_peer.py");
  auto options = plain(server);
  options.headers["X-Key"] = "k-123";
  Client client(options);
  ASSERT_TRUE(client.until_open());
  EXPECT_EQ(server.peer.line(), "header X-Key k-123");
  EXPECT_EQ(server.peer.line(), "open /feed");
  client.socket->send("hello \xe2\x82\xac");
  server.peer.say("send one\nfragments two|and|a half\nbinary 7b7d\n");
  ASSERT_TRUE(client.rig.run_until([&] { return client.got.size() >= 3; }));
  EXPECT_THAT(client.got, ElementsAre("one", "twoanda half", "{}"));
  EXPECT_EQ(server.peer.line(), "got hello \xe2\x82\xac");
  server.peer.say("ping\n");
  std::string said;  // the pong needs our loop
  EXPECT_TRUE(client.rig.run_until([&] { return server.peer.take_line(said); }));
  EXPECT_EQ(said, "pong");
}

TEST(WebSocket, NeverOffersCompressionAndGetsNone) {
  Server server("websocket_peer.py", {"compression=deflate"});
  Client client(plain(server));
  ASSERT_TRUE(client.until_open());
  EXPECT_EQ(server.peer.line(), "open /feed") << "a Sec-WebSocket-Extensions header would have been reported before";
  server.peer.say("send plain\n");
  ASSERT_TRUE(client.rig.run_until([&] { return !client.got.empty(); }));
  EXPECT_EQ(client.got[0], "plain");
}

class CloseCodes : public testing::TestWithParam<int> {};

// Every code that RFC 6455 section 7.4 lets a server send, and the registered and private ranges.
TEST_P(CloseCodes, AreToldAsTheyCame) {
  Server server("websocket_peer.py");
  Client client(plain(server));
  ASSERT_TRUE(client.until_open());
  server.peer.line();
  server.peer.say("close " + std::to_string(GetParam()) + " because\n");
  ASSERT_TRUE(client.until_end());
  EXPECT_EQ(client.ends[0].close_code, GetParam());
  EXPECT_TRUE(client.ends[0].was_open);
  EXPECT_THAT(client.ends[0].text, HasSubstr("the server closed: " + std::to_string(GetParam())));
  EXPECT_THAT(client.ends[0].text, HasSubstr("\"because\""));
  EXPECT_THAT(client.ends[0].text, Not(HasSubstr("Unknown"))) << "the library's word for a code of the server's own";
}
INSTANTIATE_TEST_SUITE_P(All, CloseCodes,
                         testing::Values(1000, 1001, 1002, 1003, 1007, 1008, 1009, 1010, 1011, 1012, 1013, 1014, 3000,
                                         3999, 4000, 4999));

TEST(WebSocket, ACutLineIsAnAbnormalEnd) {
  Server server("websocket_peer.py");
  Client client(plain(server));
  ASSERT_TRUE(client.until_open());
  server.peer.line();
  server.peer.say("cut\n");
  ASSERT_TRUE(client.until_end());
  EXPECT_EQ(client.ends[0].close_code, 1006);
  EXPECT_THAT(client.ends[0].text, HasSubstr("the connection broke"));
}

TEST(WebSocket, SaysGoodbyeAndHearsTheAnswer) {
  Server server("websocket_peer.py");
  Client client(plain(server));
  ASSERT_TRUE(client.until_open());
  server.peer.line();
  bool gone = false;
  client.socket->leave([&] { gone = true; });
  ASSERT_TRUE(client.rig.run_until([&] { return gone; }));
  EXPECT_THAT(client.ends, IsEmpty());
  EXPECT_EQ(server.peer.line(), "closed 1000 ");
}

// The peer's process is stopped: its kernel still takes what we send, and nothing comes back.
TEST(WebSocket, AHalfOpenConnectionIsFoundWithinThreePings) {
  Server server("websocket_peer.py");
  auto options = plain(server);
  options.keep_alive = std::chrono::milliseconds(100);
  Client client(options);
  ASSERT_TRUE(client.until_open());
  (void)client.rig.run_until([] { return false; }, std::chrono::seconds(1));
  ASSERT_THAT(client.ends, IsEmpty()) << "as long as it answers pings it lives";
  server.peer.signal(SIGSTOP);
  EXPECT_THAT(client.why(), HasSubstr("no sign of life"));
  EXPECT_EQ(client.ends[0].close_code, 1006);
}

TEST(WebSocket, TalksOverTlsWithTheRightHost) {
  Server server("websocket_peer.py", with_certificate("good"));
  auto options = secure(server, "good");
  Client address(options);
  EXPECT_TRUE(address.until_open());
  options.url = "wss://localhost:" + server.port + "/feed";
  Client name(options);
  EXPECT_TRUE(name.until_open());
}

TEST(WebSocket, RefusesWrongCertificates) {
  Server other("websocket_peer.py", with_certificate("other"));
  EXPECT_THAT(Client(secure(other, "other")).why(), HasSubstr("IP address mismatch"));
  auto by_name = secure(other, "other");
  by_name.url = "wss://localhost:" + other.port + "/feed";
  EXPECT_THAT(Client(by_name).why(), HasSubstr("hostname mismatch"));
  EXPECT_THAT(Client(secure(other, "good")).why(), HasSubstr("self-signed certificate"));
  Server expired("websocket_peer.py", with_certificate("expired"));
  EXPECT_THAT(Client(secure(expired, "expired")).why(), HasSubstr("certificate has expired"));
  EXPECT_THAT(Client(secure(expired, "missing")).why(), HasSubstr("ca_file"));
}

TEST(WebSocket, AnUnencryptedAddressNeedsLeaveAndLoopback) {
  WebSocketOptions options;
  options.url = "ws://127.0.0.1:1/";
  EXPECT_THAT(Client(options).why(), HasSubstr("wss:// is needed"));
  options.insecure_loopback = true;
  options.url = "ws://quotes.example.org/";
  EXPECT_THAT(Client(options).why(), HasSubstr("wss:// is needed"));
  options.url = "nonsense";
  EXPECT_THAT(Client(options).why(), HasSubstr("not a WebSocket address"));
  options.url = "ws://127.0.0.1:1/";
  EXPECT_THAT(Client(options).why(), HasSubstr("onnect")) << "nobody listens on port 1";
  options.headers["X"] = "a\r\nb: c";
  EXPECT_THAT(Client(options).why(), HasSubstr("line break"));
}

struct BadPeer {
  const char* mode;
  const char* wanted;  ///< part of what the client says
  int http_status;
};
void PrintTo(const BadPeer& one, std::ostream* out) { *out << one.mode; }

class BadPeers : public testing::TestWithParam<BadPeer> {};

TEST_P(BadPeers, AreLeftWithAReason) {
  Server server("raw_peer.py", {GetParam().mode});
  auto options = plain(server);
  options.phase_timeout = std::chrono::milliseconds(std::string(GetParam().mode).substr(0, 5) == "stall" ? 500 : 5000);
  options.message_bytes_most = 1 << 20;
  Client client(options);
  EXPECT_THAT(client.why(), HasSubstr(GetParam().wanted));
  EXPECT_THAT(client.got, IsEmpty());
  EXPECT_EQ(client.ends.empty() ? 0 : client.ends[0].http_status, GetParam().http_status);
  (void)client.rig.run_until([] { return false; }, std::chrono::seconds(0));
  EXPECT_THAT(client.ends, SizeIs(1)) << "told once";
}

const BadPeer kBadPeers[] = {
    {"redirect", "a redirect to wss://elsewhere.example, which is not followed", 302},
    {"too_many", "HTTP 429", 429},
    {"forbidden", "HTTP 403", 403},
    {"plain_page", "where a WebSocket answers 101", 200},
    {"bad_accept", "handshake", 0},
    {"garbage", "handshake", 0},
    {"stall_before", "no answer within the time limit", 0},
    {"deflate", "an extension that we did not offer: permessage-deflate", 0},
    {"subprotocol", "a sub-protocol that we did not offer: surprise", 0},
    {"reset", "the connection broke", 0},
    {"masked", "code 1002", 0},
    {"rsv", "code 1002", 0},
    {"reserved_opcode", "code 1002", 0},
    {"not_utf8", "code 1007", 0},
    {"fragmented_ping", "code 1002", 0},
    {"long_ping", "code 1002", 0},
    {"lone_continuation", "code 1002", 0},
    {"close_one_byte", "1002", 0},
    {"close_reserved", "the server closed", 0},
    {"close_empty", "the server closed without saying why", 0},
    // Codes that no endpoint may send (section 7.4).
    {"close_0", "", 0},
    {"close_999", "", 0},
    {"close_1004", "", 0},
    {"close_1006", "", 0},
    {"close_1015", "", 0},
    {"close_2999", "", 0},
    {"close_5000", "", 0},
    {"close_65535", "", 0},
    {"close_not_utf8", "", 0},
    {"huge", "frame_kib lets longer ones in", 0},
    {"endless_fragments", "code 1009", 0},
};
INSTANTIATE_TEST_SUITE_P(All, BadPeers, testing::ValuesIn(kBadPeers),
                         [](const auto& one) { return std::string(one.param.mode); });

// However the body comes: with the head or behind it, in chunks, without a length, never whole, without end.
TEST(WebSocket, HandsOnWhatARefusalSays) {
  for (const char* mode :
       {"plain_refusal", "unsized_refusal", "late_refusal", "chunked_refusal", "stalled_refusal", "endless_refusal"}) {
    Server server("raw_peer.py", {mode});
    auto options = plain(server);
    options.phase_timeout = std::chrono::milliseconds(std::string(mode) == "stalled_refusal" ? 500 : 5000);
    Client client(options);
    const auto next_part = [&] {
      std::string line;
      if (!server.peer.take_line(line) || line != "part") return;
      client.rig.io.poll();  // the part is taken before the next is on its way
      server.peer.say("on\n");
    };
    EXPECT_TRUE(client.rig.run_until([&] { return next_part(), !client.ends.empty(); })) << mode;
    EXPECT_THAT(client.why(), HasSubstr("HTTP 401 Unauthorized")) << mode;
    ASSERT_THAT(client.ends, SizeIs(1));
    EXPECT_EQ(client.ends[0].http_status, 401) << mode;
    EXPECT_THAT(client.ends[0].refusal, HasSubstr("key expired")) << mode;
    EXPECT_LT(client.ends[0].refusal.size(), 200'000U) << mode;
  }
}

TEST(WebSocket, GoesThroughAProxyAlsoWithTls) {
  Server proxy("proxy_peer.py");
  Server server("websocket_peer.py", with_certificate("good"));
  auto options = secure(server, "good");
  options.proxy = "http://127.0.0.1:" + proxy.port;
  Client client(options);
  ASSERT_TRUE(client.until_open()) << client.why();
  EXPECT_EQ(proxy.peer.line(), "CONNECT 127.0.0.1:" + server.port);
  Server other("websocket_peer.py", with_certificate("other"));
  auto wrong = secure(other, "other");
  wrong.proxy = options.proxy;
  EXPECT_THAT(Client(wrong).why(), HasSubstr("IP address mismatch")) << "a proxy must not stand in for the host";
}

TEST(WebSocket, HandsOnWhatTheServerAsksInRetryAfter) {
  Server seconds("raw_peer.py", {"too_many"});
  Client first(plain(seconds));
  ASSERT_TRUE(first.until_end());
  EXPECT_EQ(first.ends[0].retry_after, "120");
  Server date("raw_peer.py", {"too_many_date"});
  Client second(plain(date));
  ASSERT_TRUE(second.until_end());
  EXPECT_EQ(second.ends[0].retry_after, "Fri, 01 Jan 2100 00:00:00 GMT");
}

TEST(WebSocket, ReadsFramesHoweverTheyAreCutOrGlued) {
  for (const char* mode : {"slow", "early"}) {
    Server server("raw_peer.py", {mode});
    Client client(plain(server));
    ASSERT_TRUE(client.rig.run_until([&] { return client.got.size() >= 2 || !client.ends.empty(); })) << mode;
    EXPECT_THAT(client.got, ElementsAre("one", "two")) << mode;
  }
}

TEST(WebSocket, DestroyedAtAnyMomentItCallsNobody) {
  Server server("websocket_peer.py");
  for (int turns = 0; turns < 40; ++turns) {
    Client client(plain(server));
    client.rig.io.restart();
    for (int i = 0; i < turns && !client.open; ++i) client.rig.io.run_one_for(std::chrono::milliseconds(20));
    client.socket.reset();
    const auto ends = client.ends.size();
    client.rig.io.restart();
    client.rig.io.run_for(std::chrono::milliseconds(5));
    EXPECT_EQ(client.ends.size(), ends);
  }
}

// RFC 6455 section 5.5.3: to answer the latest of several pings is enough. 50 MB of pongs would have to wait.
TEST(WebSocket, AFloodOfPingsIsNotAnsweredByAQueue) {
  Server server("raw_peer.py", {"ping_flood"});
  auto options = plain(server);
  Client client(options);
  ASSERT_TRUE(client.until_open());
  std::size_t most = 0;
  ASSERT_TRUE(client.rig.run_until([&] {
    most = std::max(most, client.socket->unsent());
    return !client.got.empty() || !client.ends.empty();
  }));
  EXPECT_THAT(client.got, ElementsAre("flooded")) << "its messages are heard all the same";
  EXPECT_LT(most, 64U << 10);
}

TEST(WebSocket, AnAddressThatOnlyBeginsLikeLoopbackIsNone) {
  for (const char* url : {"ws://127.0.0.1:80@elsewhere.example/", "ws://127.0.0.1@elsewhere.example/",
                          "ws://127.0.0.1\\@elsewhere.example/", "ws://user:opensesame@127.0.0.1:1/"}) {
    WebSocketOptions options;
    options.url = url;
    options.insecure_loopback = true;
    const std::string why = Client(options).why();
    EXPECT_THAT(why, HasSubstr("not a WebSocket address")) << url;
    EXPECT_THAT(why, Not(HasSubstr("opensesame")));
  }
}

}  // namespace
}  // namespace brimwatch
