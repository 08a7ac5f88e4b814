// What every channel must keep, whatever it is given and whoever is on the other side: no exception, an answer in time, a
// reply of one clean line, and never "delivered" where nobody is there.
#include <gtest/gtest.h>

#include "adapters/channels/table.h"
#include "core/text/text.h"
#include "tests/channels/messages.h"
#include "tests/support/hostile_text.h"
#include "tests/support/peer.h"

namespace brimwatch {
namespace {

using testing_support::digest_of;
using testing_support::message_of;
using testing_support::sample_notice;
using testing_support::sample_record;
using testing_support::TemporaryDirectory;

class ChannelContract : public ::testing::TestWithParam<std::string> {
 protected:
  ChannelContract() : out_(std::fopen("/dev/null", "w")) {
    ::setenv("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nonexistent/bus", 1);
  }
  ~ChannelContract() override { std::fclose(out_); }

  /// A channel whose other side is there, except for those that need a network or a desktop.
  std::unique_ptr<Channel> make() {
    ChannelSettings settings;
    settings.name = GetParam();
    settings.kind = GetParam();
    settings.timeout = std::chrono::seconds(5);
    settings.write_to = directory_.path();
    settings.url = "http://127.0.0.1:9/";
    settings.insecure_loopback = true;
    settings.command = {"/bin/cat"};
    settings.from = "watch@example.org";
    settings.to = {"me@example.org"};
    settings.contact = "mailto:me@example.org";
    if (GetParam() == "mqtt") settings.url = "mqtt://127.0.0.1:9";
    settings.topic = "brimwatch/{symbol}";
    ChannelContext context = default_context();
    context.console = out_;
    context.devices = Devices::open(directory_.path() + "/j.devices.json").value();
    const std::string key = P256::generate()->public_bytes(), auth(16, 'a');
    EXPECT_TRUE(context.devices->subscribe("", {"http://127.0.0.1:9/push", key, auth}, Timestamp{kSecond}));
    auto channel = make_channel(settings, context);
    EXPECT_TRUE(channel) << channel.error().text;
    return std::move(*channel);
  }
  [[nodiscard]] bool has_other_side() const {
    return GetParam() == "console" || GetParam() == "email" || GetParam() == "command";
  }

  void check(Channel& channel, const Message& message) {
    const auto start = std::chrono::steady_clock::now();
    Delivery delivery;
    ASSERT_NO_THROW(delivery = channel.send(message));
    EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(10));
    EXPECT_EQ(delivery.outcome, has_other_side() ? Outcome::delivered : Outcome::retry) << delivery.reply;
    EXPECT_EQ(delivery.reply, clean_line(delivery.reply, 300));
    EXPECT_FALSE(delivery.reply.empty());
  }

  TemporaryDirectory directory_;
  std::FILE* out_;
};

TEST_P(ChannelContract, TakesHostileTextInEveryField) {
  const auto channel = make();
  for (const std::string& hostile : testing_support::hostile_texts()) {
    Message message = message_of(word(sample_notice(), {hostile, hostile, std::chrono::hours(-5)}));
    message.id += hostile;
    message.title += hostile;
    message.text += hostile;
    check(*channel, message);
  }
}

TEST_P(ChannelContract, TakesMessagesOfEveryShape) {
  const auto channel = make();
  check(*channel, Message{});
  check(*channel, digest_of({}));
  check(*channel, digest_of(std::vector<NoticeRecord>(50, sample_record())));
  Message odd = message_of(sample_record(), std::vector<std::uint8_t>(100'000, 0xFF));
  odd.attempt = -1;
  odd.late = std::chrono::seconds::max();
  check(*channel, odd);
  Notice unset;
  unset.kind = NoticeKind::left_range;
  check(*channel, message_of(word(unset, {"", "", std::chrono::hours(14)})));
}

INSTANTIATE_TEST_SUITE_P(Every, ChannelContract,
                         ::testing::Values("console", "desktop", "email", "webhook", "command", "push", "mqtt"),
                         [](const auto& made) { return made.param; });

TEST(ChannelTable, TheContractCoversEveryKind) {
  EXPECT_EQ(channel_kinds(),
            (std::vector<std::string_view>{"console", "desktop", "email", "webhook", "command", "push", "mqtt"}));
}

}  // namespace
}  // namespace brimwatch
