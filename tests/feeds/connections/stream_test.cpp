// The stream feed against an independent WebSocket server (python3-websockets) that the test drives.
#include "adapters/feeds/connections/stream.h"

#include <gmock/gmock.h>

#include "adapters/feeds/table.h"
#include "feeds/rig.h"
#include "tests/net/servers.h"

namespace brimwatch {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;
using testing::SizeIs;

FeedSettings stream_settings(const Server& server) {
  FeedSettings settings;
  settings.name = "north";
  settings.kind = "stream";
  settings.url = "ws://127.0.0.1:" + server.port + "/feed";
  settings.insecure_loopback = true;
  settings.secret.kind = SecretSource::Kind::environment;
  settings.headers["X-Key"] = "{secret}";
  settings.hello = {R"({"do":"login","key":"{secret}"})"};
  settings.subscribe = R"({"do":"add","names":{symbols_json}})";
  settings.unsubscribe = R"({"do":"drop","names":{symbols_json}})";
  settings.batch = 2;
  settings.fields.symbol = "/s";
  settings.fields.price = "/p";
  settings.fields.size = "/n";
  settings.fields.id = "/i";
  settings.rules = {
      {"/login", "fine", "accepted"}, {"/login", "*", "refused"}, {"/error", "*", "refused"}, {"/beat", "*", "ignore"}};
  return settings;
}

/// A feed on a rig, and the server's words read while the loop turns.
struct StreamRun {
  StreamRun(Server& with, const FeedSettings& settings) : server(with), feed(make_feed(settings, rig.context).value()) {}

  /// Turns the loop until `done`.
  [[nodiscard]] bool until(const std::function<bool()>& done) { return rig.run_until(done); }
  [[nodiscard]] bool until_state(FeedState state) {
    return until([&] { return rig.listener.state() == state; });
  }
  /// What the server says next, while our loop turns. That a connection has closed is left out: the server may
  /// say it before or after the first words of the next one.
  std::string heard() {
    std::string line;
    do EXPECT_TRUE(until([&] { return server.peer.take_line(line); }));
    while (says_closed(line));
    return line;
  }
  /// The next line of any kind.
  std::string heard_all() {
    std::string line;
    EXPECT_TRUE(until([&] { return server.peer.take_line(line); }));
    return line;
  }
  static bool says_closed(const std::string& line) { return line.rfind("closed ", 0) == 0; }
  void say(const std::string& line) { server.peer.say(line + "\n"); }
  void log_in() {
    feed->start(rig.listener);
    EXPECT_TRUE(until_state(FeedState::connecting));
    EXPECT_EQ(heard(), "header X-Key canary-7f3a");
    EXPECT_EQ(heard(), "open /feed");
    EXPECT_EQ(heard(), R"(got {"do":"login","key":"canary-7f3a"})");
    say(R"(send {"login":"fine"})");
    EXPECT_TRUE(until_state(FeedState::up));
  }

  Server& server;
  Rig rig;
  std::unique_ptr<Feed> feed;
};

TEST(Stream, LogsInSubscribesInBatchesAndGivesTicks) {
  Server server("websocket_peer.py");
  StreamRun run(server, stream_settings(server));
  run.feed->subscribe({"ORRI", "KLVN", "TAMBU"});
  run.log_in();
  EXPECT_EQ(run.heard(), R"(got {"do":"add","names":["KLVN","ORRI"]})");
  EXPECT_EQ(run.heard(), R"(got {"do":"add","names":["TAMBU"]})");
  run.say(R"(send [{"s":"KLVN","p":"48.41","n":100},{"s":"ORRI","p":7,"n":1}])");
  ASSERT_TRUE(run.until([&] { return run.rig.listener.ticks.size() >= 2; }));
  EXPECT_EQ(run.rig.listener.ticks[0].price.micros, 48'410'000);
  EXPECT_THAT(run.rig.listener.frames, Contains(HasSubstr("KLVN")));
}

TEST(Stream, AChangeOfSymbolsSendsTheDifferenceOnly) {
  Server server("websocket_peer.py");
  StreamRun run(server, stream_settings(server));
  run.feed->subscribe({"KLVN", "ORRI"});
  run.log_in();
  EXPECT_EQ(run.heard(), R"(got {"do":"add","names":["KLVN","ORRI"]})");
  run.feed->subscribe({"KLVN", "TAMBU"});
  EXPECT_EQ(run.heard(), R"(got {"do":"drop","names":["ORRI"]})");
  EXPECT_EQ(run.heard(), R"(got {"do":"add","names":["TAMBU"]})");
  run.feed->subscribe({"KLVN", "TAMBU"});
  run.say("close 1001 bye");
  EXPECT_EQ(run.heard(), "header X-Key canary-7f3a") << "the same set again sends nothing";
}

TEST(Stream, ReconnectsAndSubscribesToEverythingAgain) {
  Server server("websocket_peer.py");
  StreamRun run(server, stream_settings(server));
  run.feed->subscribe({"KLVN"});
  run.log_in();
  EXPECT_THAT(run.heard(), HasSubstr("KLVN"));
  run.say("close 1000");  // a normal close in session is no reason to stay away
  ASSERT_TRUE(run.until([&] { return run.rig.listener.saw(FeedState::down, "the server closed: 1000"); }));
  EXPECT_THAT(run.feed->health().text, HasSubstr("trying again in 0.0 s"));
  EXPECT_EQ(run.heard(), "header X-Key canary-7f3a");
  EXPECT_EQ(run.heard(), "open /feed");
  EXPECT_THAT(run.heard(), HasSubstr("login"));
  run.say(R"(send {"login":"fine"})");
  ASSERT_TRUE(run.until_state(FeedState::up));
  EXPECT_EQ(run.heard(), R"(got {"do":"add","names":["KLVN"]})");
  EXPECT_EQ(run.feed->health().reconnects, 1U);
}

TEST(Stream, ARefusedLoginStaysAwayAMinuteAndKeepsTheSecret) {
  Server server("websocket_peer.py");
  StreamRun run(server, stream_settings(server));
  run.feed->start(run.rig.listener);
  ASSERT_TRUE(run.until_state(FeedState::connecting));
  for (int i = 0; i < 3; ++i) run.heard();
  run.say(R"(send {"login":"key canary-7f3a is not known"})");
  ASSERT_TRUE(run.until_state(FeedState::down));
  EXPECT_THAT(run.feed->health().text, HasSubstr("the source said: key (secret) is not known; trying again in 60.0 s"));
  for (const auto& line : run.rig.log) EXPECT_THAT(line, Not(HasSubstr("canary")));
}

TEST(Stream, SaysWhyTheHandshakeWasRefused) {
  Server server("raw_peer.py", {"plain_refusal"});
  StreamRun run(server, stream_settings(server));
  run.feed->start(run.rig.listener);
  ASSERT_TRUE(run.until_state(FeedState::down));
  EXPECT_THAT(run.feed->health().text,
              HasSubstr(R"(the server answered HTTP 401 Unauthorized: "key expired"; trying again in 60.0 s)"));
}

TEST(Stream, ARefusedSubscriptionDoesNotEndTheRest) {
  Server server("websocket_peer.py");
  StreamRun run(server, stream_settings(server));
  run.feed->subscribe({"KLVN"});
  run.log_in();
  run.say(R"(send {"error":"no such name"})");
  run.say(R"(send {"s":"KLVN","p":1,"n":1})");
  ASSERT_TRUE(run.until([&] { return !run.rig.listener.ticks.empty(); }));
  EXPECT_EQ(run.rig.listener.state(), FeedState::up);
  EXPECT_TRUE(run.rig.logged("the source said: no such name"));
}

TEST(Stream, NoAnswerToTheHelloIsNoConnection) {
  Server server("websocket_peer.py");
  auto settings = stream_settings(server);
  settings.connect_timeout = std::chrono::milliseconds(1000);
  StreamRun run(server, settings);
  run.feed->start(run.rig.listener);
  ASSERT_TRUE(run.until_state(FeedState::down));
  EXPECT_THAT(run.rig.listener.states.back().text, HasSubstr("no answer to our hello"));
}

TEST(Stream, AServerThatSaysTooManyIsLeftAloneForAsLongAsItAsks) {
  for (const auto& [mode, wanted] :
       {std::pair("too_many", "trying again in 120.0 s"), std::pair("too_many_date", "trying again in 300.0 s"),
        std::pair("forbidden", "trying again in 60.0 s"),
        std::pair("redirect", "which is not followed; trying again in 60.0 s")}) {
    Server server("raw_peer.py", {mode});
    StreamRun run(server, stream_settings(server));
    run.feed->start(run.rig.listener);
    ASSERT_TRUE(run.until_state(FeedState::down));
    EXPECT_THAT(run.rig.listener.states.back().text, HasSubstr(wanted)) << mode;
  }
}

// RFC 6455, section 7.4.1, and 1012 to 1014 of the registry: only "policy" and "try again later" say that we shall keep
// away; all others, a normal close among them, are no reason to be blind for a minute.
TEST(Stream, ComesBackAtOnceFromEachCloseCodeButTheTwoThatSendItAway) {
  for (const int code : {1000, 1001, 1002, 1003, 1007, 1008, 1009, 1010, 1011, 1012, 1013, 1014, 3000, 4000, 4999}) {
    Server server("websocket_peer.py");
    StreamRun run(server, stream_settings(server));
    run.log_in();
    run.say("close " + std::to_string(code));
    const bool away = code == 1008 || code == 1013;
    ASSERT_TRUE(run.until([&] { return run.rig.listener.saw(FeedState::down); })) << code;
    EXPECT_TRUE(run.rig.listener.saw(FeedState::down, away ? "trying again in 60.0 s" : "trying again in 0.0 s")) << code;
  }
}

TEST(Stream, GoesThroughAProxyAndSaysWhyOneRefuses) {
  Server server("websocket_peer.py");
  Server proxy("proxy_peer.py");
  auto settings = stream_settings(server);
  settings.proxy = "http://127.0.0.1:" + proxy.port;
  {
    StreamRun run(server, settings);
    run.log_in();
    EXPECT_EQ(proxy.peer.line(), "CONNECT 127.0.0.1:" + server.port);
  }
  Server refusing("proxy_peer.py", {"refuse"});
  settings.proxy = "http://127.0.0.1:" + refusing.port;
  StreamRun run(server, settings);
  run.feed->start(run.rig.listener);
  ASSERT_TRUE(run.until_state(FeedState::down));
  EXPECT_THAT(run.rig.listener.states.back().text,
              HasSubstr("the proxy http://127.0.0.1:" + refusing.port + " does not let us through"));
}

TEST(Stream, StopSaysGoodbyeAndAStartWaitsForIt) {
  Server server("websocket_peer.py");
  StreamRun run(server, stream_settings(server));
  run.log_in();
  run.feed->stop();
  EXPECT_EQ(run.rig.listener.state(), FeedState::stopped);
  run.feed->start(run.rig.listener);
  // The new connection is made only when the old one's end has come; the server may still say so a moment later.
  const std::vector<std::string> said{run.heard_all(), run.heard_all(), run.heard_all()};
  EXPECT_THAT(said, Contains(HasSubstr("closed 1000")));
  EXPECT_THAT(said, Contains(HasSubstr("open /feed")));
}

TEST(Stream, TakesWhatTheSourceCompressesOnTheWay) {
  Server server("websocket_peer.py", {"compression=deflate"});
  auto settings = stream_settings(server);
  settings.permessage_deflate = true;
  StreamRun run(server, settings);
  run.feed->start(run.rig.listener);
  ASSERT_TRUE(run.until_state(FeedState::connecting));
  EXPECT_EQ(run.heard(), "header X-Key canary-7f3a") << "as in the other tests";
  EXPECT_THAT(run.heard(), HasSubstr("header Sec-WebSocket-Extensions permessage-deflate"));
  run.say(R"(send {"login":"fine"})");
  ASSERT_TRUE(run.until_state(FeedState::up));
  run.say(
      R"(burst 500 {"s":"KLVN","p":48.35,"n":1,"i":NUMBER,"pad":"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"})");
  ASSERT_TRUE(run.until([&] { return run.rig.listener.ticks.size() >= 500; }));
  EXPECT_EQ(run.rig.listener.ticks[499].price.micros, 48'350'000);
}

TEST(Stream, AnswersThePingsOfTheSource) {
  Server server("websocket_peer.py");
  auto settings = stream_settings(server);
  settings.replies = {{"/ping", "*", R"({"pong":{value}})"}};
  StreamRun run(server, settings);
  run.log_in();
  run.say(R"(send {"ping":1791986400})");
  std::string said;
  for (int i = 0; i < 10 && said.find("pong") == std::string::npos; ++i) said = run.heard();
  EXPECT_EQ(said, R"(got {"pong":1791986400})");
  EXPECT_EQ(run.feed->health().unknown + run.feed->health().malformed, 0U);
}

TEST(Stream, SaysWhyNobodyAnswers) {
  Server server("websocket_peer.py");
  auto settings = stream_settings(server);
  settings.url = "ws://127.0.0.1:1/";
  StreamRun run(server, settings);
  run.feed->start(run.rig.listener);
  ASSERT_TRUE(run.until_state(FeedState::down));
  EXPECT_THAT(run.feed->health().text, HasSubstr("connecting: Connection refused; trying again"));
}

TEST(Stream, ABurstArrivesWhole) {
  Server server("websocket_peer.py");
  auto settings = stream_settings(server);
  StreamRun run(server, settings);
  run.log_in();
  run.say(R"(burst 20000 {"s":"KLVN","p":1,"n":1,"i":NUMBER})");
  ASSERT_TRUE(run.until([&] { return run.rig.listener.ticks.size() >= 20000; }));
  for (std::size_t i = 0; i < 20000; ++i) ASSERT_EQ(run.rig.listener.ticks[i].id, i);
}

// A hundred connections one after the other: the memory that each leaves behind must be none (the leak checker looks at
// the end, this looks at what is still reachable: descriptors).
TEST(Stream, ReconnectingLeavesNoDescriptorBehind) {
  Server server("raw_peer.py", {"reset"});
  auto settings = stream_settings(server);
  settings.rules.clear();
  StreamRun run(server, settings);
  run.feed->start(run.rig.listener);
  const auto descriptors = [] {
    std::ptrdiff_t count = 0;
    for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator("/proc/self/fd")) ++count;
    return count;
  };
  ASSERT_TRUE(run.until([&] { return run.rig.listener.downs() >= 10; }));
  const auto before = descriptors();
  ASSERT_TRUE(run.until([&] { return run.rig.listener.downs() >= 100; }));
  EXPECT_LE(descriptors(), before + 3);
}

}  // namespace
}  // namespace brimwatch
