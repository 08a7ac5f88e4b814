// Real child programs, started by the feed itself.
#include "adapters/feeds/connections/pipe.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <signal.h>
#include <stdlib.h>
#include <unistd.h>

#include <fstream>

#include "adapters/feeds/table.h"
#include "feeds/rig.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing::SizeIs;

FeedSettings pipe_settings(std::vector<std::string> command) {
  FeedSettings settings;
  settings.name = "plug";
  settings.kind = "pipe";
  settings.command = std::move(command);
  settings.fields.symbol = "/s";
  settings.fields.price = "/p";
  settings.fields.size = "/n";
  return settings;
}

std::unique_ptr<Feed> made(const FeedSettings& settings, Rig& rig) { return make_feed(settings, rig.context).value(); }

TEST(Pipe, ReadsTheLinesOfAChild) {
  Rig rig;
  const auto feed =
      made(pipe_settings({"printf", R"({"s":"KLVN","p":"48.41","n":100}\n\n{"s":"ORRI","p":7,"n":5}\r\n)"}), rig);
  feed->start(rig.listener);
  EXPECT_TRUE(rig.listener.states.empty()) << "start() must not call back";
  ASSERT_TRUE(rig.run_until([&] { return rig.listener.ticks.size() >= 2; }));
  EXPECT_EQ(rig.symbols.name(rig.listener.ticks[1].symbol), "ORRI");
  EXPECT_TRUE(rig.listener.ticks[0].received.is_set());
  EXPECT_EQ(rig.listener.ticks[0].time, rig.listener.ticks[0].received);  // no time mapped
  EXPECT_THAT(rig.listener.frames, SizeIs(2));
  EXPECT_TRUE(rig.listener.saw(FeedState::up, "reading printf"));
}

TEST(Pipe, AChildInheritsNoDescriptors) {
  Rig rig;
  const int kept = ::open("/dev/null", O_RDONLY);  // without O_CLOEXEC on purpose, as Asio's sockets are
  const auto feed = made(
      pipe_settings({"sh", "-c", R"(printf '{"s":"FD%s","p":1,"n":1}\n' $(ls /proc/self/fd | tr -d '\n'); sleep 60)"}),
      rig);
  feed->start(rig.listener);
  ASSERT_TRUE(rig.run_until([&] { return !rig.listener.ticks.empty(); }));
  ::close(kept);
  EXPECT_EQ(rig.symbols.name(rig.listener.ticks[0].symbol), "FD0123") << "3 is the directory that ls itself reads";
}

TEST(Pipe, StartsAChildAgainThatEndsAndSaysHowItEnded) {
  Rig rig;
  const auto feed = made(pipe_settings({"sh", "-c", R"(echo '{"s":"KLVN","p":1,"n":1}'; echo oops >&2; exit 3)"}), rig);
  feed->start(rig.listener);
  ASSERT_TRUE(rig.run_until([&] { return rig.listener.ticks.size() >= 3; }));
  EXPECT_TRUE(rig.listener.saw(FeedState::down, "sh ended with code 3; starting it again in 0.0 s"));
  EXPECT_GE(feed->health().reconnects, 2U);
  EXPECT_TRUE(rig.logged("sh says: oops"));
}

TEST(Pipe, AProgramThatCannotBeStartedIsToldAndTriedAgain) {
  Rig rig;
  const auto feed = made(pipe_settings({"/no/such/program"}), rig);
  feed->start(rig.listener);
  ASSERT_TRUE(rig.run_until([&] { return rig.listener.downs() >= 2; }));
  EXPECT_THAT(feed->health().text, HasSubstr("cannot start /no/such/program: No such file or directory"));
  EXPECT_EQ(rig.listener.state(), FeedState::down);
}

TEST(Pipe, ALineThatIsTooLongIsCountedAndTheNextIsRead) {
  Rig rig;
  auto settings =
      pipe_settings({"sh", "-c", R"(head -c 3000 /dev/zero | tr '\0' x; echo; echo '{"s":"KLVN","p":1,"n":1}'; cat)"});
  settings.command[2] += " /dev/null; sleep 60";
  settings.frame_bytes_most = 1000;
  const auto feed = made(settings, rig);
  feed->start(rig.listener);
  ASSERT_TRUE(rig.run_until([&] { return !rig.listener.ticks.empty(); }));
  EXPECT_EQ(feed->health().malformed, 1U);
  EXPECT_TRUE(rig.logged("a line of more than 1000 bytes"));
}

TEST(Pipe, StopEndsTheChildAndAllItStarted) {
  Rig rig;
  char name[] = "/tmp/pipe_test_XXXXXX";
  const int file = ::mkstemp(name);
  ASSERT_GE(file, 0);
  const auto feed =
      made(pipe_settings(
               {"sh", "-c", std::string("sleep 600 & echo $! >") + name + R"(; echo '{"s":"KLVN","p":1,"n":1}'; wait)"}),
           rig);
  feed->start(rig.listener);
  ASSERT_TRUE(rig.run_until([&] { return !rig.listener.ticks.empty(); }));
  pid_t grandchild = 0;
  std::ifstream(name) >> grandchild;
  ASSERT_GT(grandchild, 0);
  feed->stop();
  EXPECT_EQ(rig.listener.state(), FeedState::stopped);
  // Gone, or a zombie that waits for init to take it: in neither case does it run.
  EXPECT_TRUE(rig.run_until(
      [&] {
        std::ifstream about("/proc/" + std::to_string(grandchild) + "/stat");
        std::string words;
        std::getline(about, words);
        const auto behind = words.rfind(')');
        return words.empty() || words.substr(behind + 2, 1) == "Z";
      },
      std::chrono::seconds(10)));
  ::unlink(name);
  const std::size_t before = rig.listener.ticks.size();
  feed->start(rig.listener);  // start() may be called again after stop()
  EXPECT_TRUE(rig.run_until([&] { return rig.listener.ticks.size() > before; }));
}

TEST(Pipe, AStubbornChildIsKilled) {
  Rig rig;
  const auto feed = made(
      pipe_settings({"sh", "-c", R"(trap '' TERM; echo '{"s":"KLVN","p":1,"n":1}'; while :; do sleep 1; done)"}), rig);
  feed->start(rig.listener);
  ASSERT_TRUE(rig.run_until([&] { return !rig.listener.ticks.empty(); }));
  feed->stop();
  // The loop runs dry only when the child's exit has been taken.
  EXPECT_TRUE(rig.runs_dry());
}

TEST(Pipe, GivesOnlyWhatIsWatched) {
  Rig rig;
  const auto feed = made(
      pipe_settings({"sh", "-c", R"(echo '{"s":"ORRI","p":1,"n":1}'; echo '{"s":"KLVN","p":1,"n":1}'; sleep 60)"}), rig);
  feed->subscribe({"KLVN"});
  feed->start(rig.listener);
  ASSERT_TRUE(rig.run_until([&] { return !rig.listener.ticks.empty(); }));
  EXPECT_EQ(rig.symbols.name(rig.listener.ticks[0].symbol), "KLVN");
  EXPECT_EQ(feed->health().unwatched, 1U);
}

TEST(Pipe, AGapInTheSourcesNumberingIsAHoleBeforeTheNextTick) {
  Rig rig;
  auto settings = pipe_settings(
      {"printf", R"({"s":"A","p":1,"n":1,"q":7}\n{"s":"A","p":2,"n":1,"q":8}\n{"s":"A","p":3,"n":1,"q":12}\n)"});
  settings.fields.sequence = "/q";
  const auto feed = made(settings, rig);
  feed->start(rig.listener);
  ASSERT_TRUE(rig.run_until([&] { return rig.listener.ticks.size() >= 4; }));
  EXPECT_EQ(rig.listener.ticks[2].kind, TickKind::hole);
  EXPECT_EQ(rig.listener.ticks[2].symbol, kNoSymbol);
  EXPECT_EQ(rig.listener.ticks[2].time, rig.listener.ticks[1].time);
  EXPECT_EQ(rig.listener.ticks[2].received, rig.listener.ticks[3].time);
  EXPECT_EQ(feed->health().gaps, 1U);
}

TEST(Table, AnUnknownKindIsRefusedWithTheKnownOnes) {
  Rig rig;
  FeedSettings settings;
  settings.name = "north";
  settings.kind = "carrier-pigeon";
  const auto feed = make_feed(settings, rig.context);
  ASSERT_FALSE(feed);
  EXPECT_THAT(feed.error().text, HasSubstr("feed \"north\": kind: found \"carrier-pigeon\", expected one of "));
}

TEST(Pipe, AChildGetsNoSecretOfOurEnvironment) {
  Rig rig;
  ::setenv("BROKER_TOKEN", "opensesame", 1);
  ::setenv("FEED_REGION", "north", 1);
  auto settings = pipe_settings(
      {"sh", "-c",
       R"(printf '{"s":"T%s-%s-%s","p":1,"n":1}\n' "$BROKER_TOKEN" "$FEED_REGION" "${PATH:+path}"; sleep 60)"});
  settings.environment = {"FEED_REGION"};
  const auto feed = made(settings, rig);
  feed->start(rig.listener);
  ASSERT_TRUE(rig.run_until([&] { return !rig.listener.ticks.empty(); }));
  EXPECT_EQ(rig.symbols.name(rig.listener.ticks[0].symbol), "T-north-path") << "what is asked for by name, and the usual";
  ::unsetenv("BROKER_TOKEN");
  ::unsetenv("FEED_REGION");
}

}  // namespace
}  // namespace brimwatch
