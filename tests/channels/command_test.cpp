// The command and the console, with real programs and real files.
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <fstream>
#include <sstream>

#include "adapters/channels/child.h"
#include "adapters/channels/table.h"
#include "core/text/notice_json.h"
#include "tests/channels/messages.h"
#include "tests/support/peer.h"

namespace brimwatch {
namespace {

using testing_support::digest_of;
using testing_support::message_of;
using testing_support::sample_record;
using testing_support::TemporaryDirectory;

/// Processes of a group that are not dead: one that is killed stays as a zombie until its new parent takes note.
int alive_in(pid_t group) {
  testing_support::Peer ps({"ps", "-eo", "pgid=,stat="});
  ps.end_input();
  int count = 0;
  for (std::string line = ps.line(); !line.empty(); line = ps.line()) {
    std::istringstream words(line);
    pid_t of = 0;
    std::string state;
    words >> of >> state;
    count += of == group && state.find('Z') == std::string::npos;
  }
  return count;
}

class CommandTest : public ::testing::Test {
 protected:
  /// A program that does what `script` says, in its own directory.
  std::string program(const std::string& script) {
    const std::string path = directory_.path() + "/tell";
    std::ofstream(path) << "#!/bin/sh\ncd " << directory_.path() << "\n" << script << "\n";
    ::chmod(path.c_str(), 0700);
    return path;
  }
  Delivery send(std::vector<std::string> argv, const Message& message,
                std::chrono::seconds timeout = std::chrono::seconds(10)) {
    ChannelSettings settings;
    settings.name = "tell";
    settings.kind = "command";
    settings.command = std::move(argv);
    settings.timeout = timeout;
    return (*make_channel(settings))->send(message);
  }
  std::string contents(const std::string& name) {
    std::ostringstream out;
    out << std::ifstream(directory_.path() + "/" + name).rdbuf();
    return out.str();
  }
  TemporaryDirectory directory_;
};

TEST_F(CommandTest, GetsTheNoticeAsJsonOnStandardInput) {
  const std::string path = program("cat > got; echo \"$1|$2\" > args");
  const Delivery delivery = send({path, "a b", "$(id)"}, message_of(sample_record()));
  EXPECT_EQ(delivery.outcome, Outcome::delivered);
  EXPECT_EQ(contents("got"), to_json(sample_record()) + "\n");
  EXPECT_EQ(contents("args"), "a b|$(id)\n") << "no shell on the way";
}

TEST_F(CommandTest, GetsADigestLineByLine) {
  send({program("cat > got")}, digest_of({sample_record(), sample_record(NoticeKind::left_range)}));
  EXPECT_EQ(contents("got"), to_json(sample_record()) + "\n" + to_json(sample_record(NoticeKind::left_range)) + "\n");
}

TEST_F(CommandTest, OfARepetitionItGetsTheNoticesIdToo) {
  Message again = message_of(sample_record());
  again.id += "/again-2";
  send({program("env > got")}, again);
  for (const char* wanted :
       {"BRIMWATCH_ID=2026-11-25/KLVN/48.35/crossed/1/again-2\n", "BRIMWATCH_NOTICE=2026-11-25/KLVN/48.35/crossed/1\n"}) {
    EXPECT_NE(contents("got").find(wanted), std::string::npos) << wanted << contents("got");
  }
}

TEST_F(CommandTest, EnvironmentHoldsWhatItNeedsAndNoSecrets) {
  ::setenv("MAIL_PASSWORD", "canary-7e1f", 1);
  Message message = message_of(sample_record());
  message.attempt = 3;
  message.late = std::chrono::seconds(61);
  send({program("env > got")}, message);
  const std::string got = contents("got");
  for (const char* wanted : {"BRIMWATCH_ID=2026-11-25/KLVN/48.35/crossed/1\n", "BRIMWATCH_SYMBOL=KLVN\n",
                             "BRIMWATCH_KIND=crossed\n", "BRIMWATCH_TITLE=KLVN crossed 48.35: heavy, odds 0.94\n",
                             "BRIMWATCH_ATTEMPT=3\n", "BRIMWATCH_LATE_SECONDS=61\n", "BRIMWATCH_NOTICES=1\n", "PATH="}) {
    EXPECT_NE(got.find(wanted), std::string::npos) << wanted << "in\n" << got;
  }
  EXPECT_EQ(got.find("canary"), std::string::npos);
  ::unsetenv("MAIL_PASSWORD");
}

// 75 is EX_TEMPFAIL of sysexits.h.
TEST_F(CommandTest, ExitCodeDecides) {
  const Message message = message_of(sample_record());
  const Delivery later = send({program("echo 'no line  ' >&2; echo more >&2; exit 75")}, message);
  EXPECT_EQ(later.outcome, Outcome::retry);
  EXPECT_EQ(later.reply, "exit 75: no line");
  EXPECT_EQ(send({program("exit 1")}, message).outcome, Outcome::dead);
  EXPECT_EQ(send({program("kill -9 $$")}, message).reply, "ended by signal 9");
  EXPECT_EQ(send({"/no/such/program"}, message).outcome, Outcome::retry);
}

TEST_F(CommandTest, ATimeoutEndsItsWholeGroup) {
  const auto start = std::chrono::steady_clock::now();
  const Delivery delivery = send({program("(trap '' TERM; echo $$ > group; sleep 600) & sleep 600")},
                                 message_of(sample_record()), std::chrono::seconds(1));
  EXPECT_EQ(delivery.outcome, Outcome::unknown);
  EXPECT_EQ(delivery.reply, "killed after 1 s");
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(8));
  const pid_t group = std::atoi(contents("group").c_str());
  ASSERT_GT(group, 1);
  const auto deadline = start + std::chrono::seconds(10);
  while (alive_in(group) > 0 && std::chrono::steady_clock::now() < deadline) std::this_thread::yield();
  EXPECT_EQ(alive_in(group), 0);
  EXPECT_GT(alive_in(::getpgrp()), 0) << "the count itself works";
}

TEST_F(CommandTest, AChildOfItsOwnThatLivesOnDoesNotHoldUs) {
  const auto start = std::chrono::steady_clock::now();
  EXPECT_EQ(send({program("sleep 5 & exit 0")}, message_of(sample_record())).outcome, Outcome::delivered);
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(4));
}

TEST_F(CommandTest, MuchOutputNeitherBlocksNorFillsMemory) {
  const Delivery delivery =
      send({program("yes no-line | head -c 3000000 >&2; yes | head -c 3000000; exit 75")}, message_of(sample_record()));
  EXPECT_EQ(delivery.outcome, Outcome::retry);
  EXPECT_EQ(delivery.reply, "exit 75: no-line");
}

TEST_F(CommandTest, InheritsNoDescriptors) {
  const int kept = ::open("/dev/null", O_RDONLY);  // without O_CLOEXEC on purpose
  send({program("ls /proc/self/fd > got")}, message_of(sample_record()));
  ::close(kept);
  EXPECT_EQ(contents("got"), "0\n1\n2\n3\n") << "3 is the directory that ls itself reads";
}

TEST(CommandSettings, NeedAProgram) {
  ChannelSettings settings;
  settings.name = "tell";
  settings.kind = "command";
  EXPECT_FALSE(make_channel(settings));
}

TEST(Console, WritesThePlainTextToAFile) {
  TemporaryDirectory directory;
  const std::string path = directory.path() + "/out";
  ChannelContext context = default_context();
  context.console = std::fopen(path.c_str(), "w");
  ChannelSettings settings;
  settings.kind = "console";
  EXPECT_EQ((*make_channel(settings, context))->send(message_of(sample_record())).outcome, Outcome::delivered);
  std::fclose(context.console);
  std::ostringstream written;
  written << std::ifstream(path).rdbuf();
  EXPECT_EQ(written.str(), sample_record().text + "\n");
}

TEST(Console, AFullDiskIsToldAndTriedAgain) {
  ChannelContext context = default_context();
  context.console = std::fopen("/dev/full", "w");
  ASSERT_NE(context.console, nullptr);
  ChannelSettings settings;
  settings.kind = "console";
  EXPECT_EQ((*make_channel(settings, context))->send(message_of(sample_record())).outcome, Outcome::retry);
  std::fclose(context.console);
}

TEST(Channels, AnUnknownKindIsRefusedWithThoseThereAre) {
  ChannelSettings settings;
  settings.name = "x";
  settings.kind = "pigeon";
  EXPECT_EQ(make_channel(settings).error().text,
            "channel \"x\": kind: found \"pigeon\", expected one of console, desktop, email, webhook, command, "
            "push, mqtt");
}

}  // namespace
}  // namespace brimwatch
