// The desktop channel with two real notification servers on a real, if invisible, screen (Xvfb): dunst, and the reference
// implementation of the specification, notification-daemon.
// BRIMWATCH_PICTURES=DIR keeps pictures of the screen, to be looked at.
#include <gtest/gtest.h>

#include <filesystem>

#include "adapters/channels/table.h"
#include "pictures/small_picture.h"
#include "tests/channels/desktop_bus.h"
#include "tests/channels/messages.h"
#include "tests/pictures/sample_picture.h"

namespace brimwatch {
namespace {

using testing_support::message_of;
using testing_support::Peer;
using testing_support::PrivateBus;
using testing_support::sample_notice;
using testing_support::sample_record;
using testing_support::TemporaryDirectory;

std::string output_of(std::vector<std::string> argv) {
  Peer peer(std::move(argv));
  peer.end_input();
  return peer.all();
}

/// How many notices dunst shows at this moment, once that is `wanted` or the deadline has passed.
int shown(int wanted) {
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds(10);
  int count = -1;
  do {
    const std::string said = output_of({"sh", "-c", "dunstctl count displayed 2>/dev/null"});
    count = said.empty() ? -1 : std::atoi(said.c_str());  // nothing: it is not there yet
  } while (count != wanted && std::chrono::steady_clock::now() < deadline);
  return count;
}

class Screen {
 public:
  Screen() { ::setenv("DISPLAY", (":" + server_.line()).c_str(), 1); }
  static void keep(const std::string& name) {
    if (const char* directory = std::getenv("BRIMWATCH_PICTURES"))
      output_of({"import", "-window", "root", std::string(directory) + "/" + name + ".png"});
  }

 private:
  Peer server_{{"sh", "-c", "exec Xvfb -displayfd 1 -screen 0 800x600x24 -nolisten tcp 2>/dev/null"}};
};

class DesktopLook : public ::testing::Test {
 protected:
  void SetUp() override {
    for (const char* program : {"/usr/bin/Xvfb", "/usr/bin/import"}) {
      if (!std::filesystem::exists(program)) GTEST_SKIP() << program << " is not installed";
    }
  }

  std::unique_ptr<Channel> make() {
    ChannelSettings settings;
    settings.name = "desk";
    settings.kind = "desktop";
    return *make_channel(settings);
  }
  /// With a picture of a day that is like the notice's own.
  static Message pictured_message(NoticeRecord record) {
    DayPicture day = testing_support::sample_picture();
    day.weight = record.notice.volume.weight;
    return message_of(std::move(record), small_picture_png(day));
  }
};

TEST_F(DesktopLook, DunstShowsOneNoticeASymbol) {
  if (!std::filesystem::exists("/usr/bin/dunst")) GTEST_SKIP() << "dunst is not installed";
  const Screen screen;
  const PrivateBus bus;
  const TemporaryDirectory directory;
  std::ofstream(directory.path() + "/dunstrc")
      << "[global]\n origin = top-left\n offset = 20x20\n width = 460\n height = 300\n"
         " font = DejaVu Sans 11\n markup = full\n max_icon_size = 128\n";
  const Peer dunst({"sh", "-c", "exec dunst -conf " + directory.path() + "/dunstrc >/dev/null 2>&1"});
  ASSERT_EQ(shown(0), 0);

  const auto channel = make();
  const auto send = [&](NoticeRecord record) { return channel->send(pictured_message(std::move(record))); };
  const Delivery first = send(sample_record(NoticeKind::crossed, Weight::light));
  EXPECT_EQ(first.outcome, Outcome::delivered) << first.reply;
  EXPECT_EQ(first.reply.find("dunst "), 0U) << first.reply;
  EXPECT_EQ(send(sample_record()).outcome, Outcome::delivered);
  EXPECT_EQ(send(word(sample_notice(NoticeKind::left_range), {"ORRI", "a <b>note</b> & more", {}})).outcome,
            Outcome::delivered);
  EXPECT_EQ(send(word(sample_notice(NoticeKind::loss_limit), {"TAMBU", "", {}})).outcome, Outcome::delivered);
  EXPECT_EQ(shown(3), 3) << "the second notice of KLVN takes the place of the first";
  screen.keep("desktop-dunst");
}

TEST_F(DesktopLook, TheReferenceServerTakesTheSameNotice) {
  constexpr const char* kServer = "/usr/lib/notification-daemon/notification-daemon";
  if (!std::filesystem::exists(kServer)) GTEST_SKIP() << "notification-daemon is not installed";
  const Screen screen;
  const PrivateBus bus;
  const Peer server({"sh", "-c", std::string("exec ") + kServer + " >/dev/null 2>&1"});
  const auto channel = make();
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds(10);
  Delivery delivery;
  do delivery = channel->send(pictured_message(sample_record()));
  while (delivery.outcome == Outcome::retry && std::chrono::steady_clock::now() < deadline);  // it is not there yet
  EXPECT_EQ(delivery.outcome, Outcome::delivered) << delivery.reply;
  EXPECT_EQ(delivery.reply.find("Notification Daemon "), 0U) << delivery.reply;
  screen.keep("desktop-reference");
}

}  // namespace
}  // namespace brimwatch
