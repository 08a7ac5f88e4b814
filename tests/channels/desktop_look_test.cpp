// The desktop channel with a real notification server (dunst) on a real, if invisible, screen (Xvfb).
// BRIMWATCH_PICTURES=DIR keeps a picture of the screen, to be looked at.
#include <gtest/gtest.h>

#include <filesystem>

#include "adapters/channels/table.h"
#include "tests/channels/desktop_bus.h"
#include "tests/channels/messages.h"
#include "tests/support/small_png.h"

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

TEST(DesktopLook, ARealServerShowsOneNoticeASymbol) {
  for (const char* program : {"/usr/bin/dunst", "/usr/bin/Xvfb", "/usr/bin/import"}) {
    if (!std::filesystem::exists(program)) GTEST_SKIP() << program << " is not installed";
  }
  Peer screen({"sh", "-c", "exec Xvfb -displayfd 1 -screen 0 800x600x24 -nolisten tcp 2>/dev/null"});
  ::setenv("DISPLAY", (":" + screen.line()).c_str(), 1);
  const PrivateBus bus;
  const TemporaryDirectory directory;
  std::ofstream(directory.path() + "/dunstrc")
      << "[global]\n origin = top-left\n offset = 20x20\n width = 560\n height = 400\n"
         " font = DejaVu Sans 11\n markup = full\n max_icon_size = 300\n";
  const Peer dunst({"sh", "-c", "exec dunst -conf " + directory.path() + "/dunstrc >/dev/null 2>&1"});
  ASSERT_EQ(shown(0), 0);

  ChannelSettings settings;
  settings.name = "desk";
  settings.kind = "desktop";
  const auto channel = *make_channel(settings);
  const auto send = [&](NoticeRecord record) {
    return channel->send(message_of(std::move(record), testing_support::small_png()));
  };
  const Delivery first = send(sample_record());
  EXPECT_EQ(first.outcome, Outcome::delivered) << first.reply;
  EXPECT_EQ(first.reply.find("dunst "), 0U) << first.reply;
  EXPECT_EQ(send(sample_record(NoticeKind::volume_arrived)).outcome, Outcome::delivered);
  EXPECT_EQ(send(word(sample_notice(NoticeKind::left_range), {"ORRI", "a <b>note</b> & more", {}})).outcome,
            Outcome::delivered);
  EXPECT_EQ(shown(2), 2) << "the second notice of KLVN takes the place of the first";
  if (const char* keep = std::getenv("BRIMWATCH_PICTURES")) {
    output_of({"import", "-window", "root", std::string(keep) + "/desktop.png"});
  }
}

}  // namespace
}  // namespace brimwatch
