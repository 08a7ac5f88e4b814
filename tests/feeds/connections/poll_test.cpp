// The poll feed against an independent HTTP server.
#include "adapters/feeds/connections/poll.h"

#include <gmock/gmock.h>

#include "adapters/feeds/table.h"
#include "feeds/rig.h"
#include "tests/net/servers.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing::Not;
using testing::SizeIs;

FeedSettings poll_settings(const Server& server, const std::string& path) {
  FeedSettings settings;
  settings.name = "south";
  settings.kind = "poll";
  settings.url = "http://127.0.0.1:" + server.port + path;
  settings.insecure_loopback = true;
  settings.interval = std::chrono::milliseconds(50);
  settings.secret.kind = SecretSource::Kind::environment;
  settings.headers["X-Key"] = "{secret}";
  settings.fields.symbol = "/s";
  settings.fields.price = "/p";
  settings.fields.day_volume = "/v";
  return settings;
}

struct PollRun {
  explicit PollRun(const FeedSettings& settings) : feed(make_feed(settings, rig.context).value()) {}
  [[nodiscard]] bool until_ticks(std::size_t count) {
    return rig.run_until([&] { return rig.listener.ticks.size() >= count; });
  }
  /// What the server says next, while our loop turns.
  std::string heard(Server& server) {
    std::string line;
    EXPECT_TRUE(rig.run_until([&] { return server.peer.take_line(line); }));
    return line;
  }
  [[nodiscard]] std::string down() {
    EXPECT_TRUE(rig.run_until([&] { return rig.listener.state() == FeedState::down; }));
    return feed->health().text;
  }
  Rig rig;
  std::unique_ptr<Feed> feed;
};

TEST(Poll, AsksInBatchesAndGivesDaySnapshots) {
  Server server("http_peer.py");
  auto settings = poll_settings(server, "/quotes?symbols={symbols}");
  settings.batch = 2;
  settings.symbol_form = "{symbol}.X";
  PollRun run(settings);
  run.feed->subscribe({"KLVN", "ORRI", "TAMBU"});
  run.feed->start(run.rig.listener);
  ASSERT_TRUE(run.until_ticks(3));
  EXPECT_EQ(run.rig.listener.ticks[0].kind, TickKind::day);
  EXPECT_EQ(run.rig.listener.ticks[0].day_volume, Shares::whole(612000));
  EXPECT_EQ(run.rig.listener.ticks[0].price.micros, 48'410'000);
  EXPECT_TRUE(run.rig.listener.saw(FeedState::up, "answers from"));
  const std::string first = server.peer.line(), second = server.peer.line();
  EXPECT_THAT(first + second, HasSubstr("GET /quotes?symbols=KLVN.X,ORRI.X key=canary-7f3a encoding=gzip"));
  EXPECT_THAT(first + second, HasSubstr("GET /quotes?symbols=TAMBU.X "));
}

TEST(Poll, AsksForWhatChangedOnly) {
  Server server("http_peer.py");
  PollRun run(poll_settings(server, "/quotes?symbols={symbols}"));
  run.feed->subscribe({"KLVN"});
  run.feed->start(run.rig.listener);
  ASSERT_TRUE(run.until_ticks(1));
  // Three more rounds are answered by 304 and bring nothing.
  EXPECT_THAT(server.peer.line(), HasSubstr("match="));
  for (int i = 0; i < 3; ++i) EXPECT_THAT(run.heard(server), HasSubstr("match=\"48.41\""));
  EXPECT_THAT(run.rig.listener.ticks, SizeIs(1));
  server.peer.say("price 48.50\n");
  ASSERT_TRUE(run.until_ticks(2));
  EXPECT_EQ(run.rig.listener.ticks[1].price.micros, 48'500'000);
}

TEST(Poll, KeepsToWhatTheSourceAsks) {
  for (const auto& [path, wanted] : {std::pair("/retry/7", "HTTP 429, come back in 7 s; asking again in 7.0 s"),
                                     std::pair("/retry/300", "HTTP 429, come back in 300 s; asking again in 300.0 s"),
                                     std::pair("/retry-date", "HTTP 503, come back in 86400 s; asking again in 300.0 s"),
                                     std::pair("/status/401", "HTTP 401; asking again in 60.0 s"),
                                     std::pair("/status/500", "HTTP 500; asking again in 0."),
                                     std::pair("/redirect", "which is not followed; asking again in 60.0 s")}) {
    Server server("http_peer.py");
    PollRun run(poll_settings(server, path));
    run.feed->subscribe({"KLVN"});
    run.feed->start(run.rig.listener);
    EXPECT_THAT(run.down(), HasSubstr(wanted)) << path;
  }
}

TEST(Poll, SaysWhatARefusalSaysAndShowsNoKey) {
  for (const auto& [path, wanted] :
       {std::pair("/refuse/401?%7B%22message%22:%22key%20expired%22%7D",
                  R"(HTTP 401: "key expired"; asking again in 60.0 s)"),
        std::pair("/refuse/403?no%20rights%20for%20canary-7f3a%20here", R"(HTTP 403: "no rights for (secret) here"; )"),
        std::pair("/refuse/404?%3Ctitle%3ENo%20such%20page%3C/title%3E", R"(HTTP 404: "No such page"; )"),
        std::pair("/refuse/500?down%20for%20repair%0Ause%20another", R"(HTTP 500: "down for repair"; )")}) {
    Server server("http_peer.py");
    PollRun run(poll_settings(server, path));
    run.feed->subscribe({"KLVN"});
    run.feed->start(run.rig.listener);
    EXPECT_THAT(run.down(), HasSubstr(wanted)) << path;
    for (const auto& line : run.rig.log) EXPECT_THAT(line, Not(HasSubstr("canary")));
  }
}

// The key just where the text is cut: half of it would be left.
TEST(Poll, ARefusalThatIsCutInTheMiddleOfTheKeyShowsNoneOfIt) {
  Server server("http_peer.py");
  PollRun run(poll_settings(server, "/refuse/403?" + std::string(112, 'x') + "+canary-7f3a"));
  run.feed->subscribe({"KLVN"});
  run.feed->start(run.rig.listener);
  EXPECT_THAT(run.down(), Not(HasSubstr("cana")));
}

TEST(Poll, NewSymbolsDoNotShortenAWait) {
  Server server("http_peer.py");
  PollRun run(poll_settings(server, "/retry/300"));
  run.feed->subscribe({"KLVN"});
  run.feed->start(run.rig.listener);
  (void)run.down();
  run.feed->subscribe({"KLVN", "ORRI"});
  run.rig.io.restart();
  run.rig.io.run_for(std::chrono::milliseconds(200));
  EXPECT_THAT(server.peer.line(), HasSubstr("/retry/300"));
  EXPECT_EQ(run.rig.listener.downs(), 1U);
  EXPECT_EQ(run.feed->health().reconnects, 0U) << "it has never answered";
}

TEST(Poll, AServerThatStallsOrCutsIsToldAndAskedAgain) {
  for (const auto& [path, wanted] :
       {std::pair("/stall", "timed out"), std::pair("/cut", "asking again"), std::pair("/big", "longer than")}) {
    Server server("http_peer.py");
    auto settings = poll_settings(server, path);
    if (std::string_view(path) == "/stall") settings.connect_timeout = std::chrono::milliseconds(300);
    PollRun run(settings);
    run.feed->subscribe({"KLVN"});
    run.feed->start(run.rig.listener);
    EXPECT_THAT(run.down(), HasSubstr(wanted));
  }
}

TEST(Poll, WithoutSymbolsItAsksNothing) {
  Server server("http_peer.py");
  PollRun run(poll_settings(server, "/quotes?symbols={symbols}"));
  run.feed->start(run.rig.listener);
  run.rig.io.restart();
  run.rig.io.run_for(std::chrono::milliseconds(200));
  run.feed->subscribe({"KLVN"});
  ASSERT_TRUE(run.until_ticks(1));
  EXPECT_THAT(server.peer.line(), HasSubstr("symbols=KLVN "));
}

TEST(Poll, StoppedItIsQuietAndMayStartAgain) {
  Server server("http_peer.py");
  PollRun run(poll_settings(server, "/quotes?symbols={symbols}"));
  run.feed->subscribe({"KLVN"});
  run.feed->start(run.rig.listener);
  ASSERT_TRUE(run.until_ticks(1));
  run.feed->stop();
  EXPECT_TRUE(run.rig.runs_dry());
  run.feed->start(run.rig.listener);
  server.peer.say("price 49\n");
  ASSERT_TRUE(run.until_ticks(2));
}

TEST(Poll, NoSecretInAnyLine) {
  Server server("http_peer.py");
  PollRun run(poll_settings(server, "/status/500?key={secret}"));
  run.feed->subscribe({"KLVN"});
  run.feed->start(run.rig.listener);
  (void)run.down();
  for (const auto& line : run.rig.log) EXPECT_THAT(line, Not(HasSubstr("canary")));
  for (const auto& state : run.rig.listener.states) EXPECT_THAT(state.text, Not(HasSubstr("canary")));
}

}  // namespace
}  // namespace brimwatch
