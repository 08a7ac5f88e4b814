// The desktop channel on a real message bus, with a scripted notification server (Desktop Notifications
// specification 1.2).
#include <gtest/gtest.h>

#include "adapters/channels/desktop/desktop_text.h"
#include "adapters/channels/table.h"
#include "tests/channels/desktop_bus.h"
#include "tests/channels/messages.h"
#include "tests/support/hostile_text.h"
#include "tests/support/small_png.h"

namespace brimwatch {
namespace {

using testing_support::digest_of;
using testing_support::message_of;
using testing_support::NotificationServer;
using testing_support::PrivateBus;
using testing_support::sample_notice;
using testing_support::sample_record;
using testing_support::ShownNote;

class DesktopTest : public ::testing::Test {
 protected:
  void make(std::chrono::seconds timeout = std::chrono::seconds(8)) {
    ChannelSettings settings;
    settings.name = "desk";
    settings.kind = "desktop";
    settings.timeout = timeout;
    ChannelContext context = default_context();
    context.acknowledged = [this](const std::string& id) {
      const std::lock_guard lock(mutex_);
      acknowledged_.push_back(id);
      came_.notify_all();
    };
    context.muted = [this](const std::string& id) {
      const std::lock_guard lock(mutex_);
      acknowledged_.push_back("mute " + id);
      came_.notify_all();
    };
    channel_ = *make_channel(settings, context);
  }
  std::string next_acknowledged() {
    std::unique_lock lock(mutex_);
    came_.wait_for(lock, std::chrono::seconds(10), [this] { return !acknowledged_.empty(); });
    if (acknowledged_.empty()) return {};
    std::string id = acknowledged_.front();
    acknowledged_.erase(acknowledged_.begin());
    return id;
  }
  Delivery send(const NoticeRecord& record) { return channel_->send(message_of(record)); }

  PrivateBus bus_;
  std::mutex mutex_;
  std::condition_variable came_;
  std::vector<std::string> acknowledged_;
  std::unique_ptr<Channel> channel_;
};

TEST_F(DesktopTest, ShowsTheNoticeWithWhatTheServerCanDo) {
  NotificationServer server;
  make();
  const Delivery delivery = channel_->send(message_of(sample_record(), testing_support::small_png()));
  EXPECT_EQ(delivery.outcome, Outcome::delivered);
  EXPECT_EQ(delivery.reply, "scripted 1: id 1");
  const ShownNote note = server.next();
  EXPECT_EQ(note.app, "Brimwatch");
  EXPECT_EQ(note.summary, "KLVN crossed 48.35");
  EXPECT_EQ(note.body,
            "<b>48.41 (+0.1 %), range 48.35 to 50.76, at 10:42:07</b>\n"
            "heavy: odds 0.94 of +40 %; market up; data 0.4 s old");
  EXPECT_EQ(note.urgency, 2);
  EXPECT_EQ(note.sound, "message-new-instant");
  EXPECT_EQ(note.actions, (std::vector<std::string>{"acknowledge", "Acknowledge", "mute", "Mute 1 hour"}));
  EXPECT_EQ(note.width, 2);
  EXPECT_EQ(note.height, 1);
  EXPECT_EQ(note.image_bytes, 8U);
}

TEST_F(DesktopTest, AServerThatCanDoLittleGetsPlainText) {
  NotificationServer server({{"body"}, false, false, ""});
  make();
  NoticeRecord record = word(sample_notice(), {"K<b>&L", "", {}});
  EXPECT_EQ(channel_->send(message_of(record, testing_support::small_png())).outcome, Outcome::delivered);
  const ShownNote note = server.next();
  EXPECT_EQ(note.summary, "K<b>&L crossed 48.35");
  EXPECT_EQ(note.body.find("48.41 (+0.1 %)"), 0U) << note.body;
  EXPECT_EQ(note.body.find("<b>"), std::string::npos);
  EXPECT_TRUE(note.actions.empty());
  EXPECT_EQ(note.image_bytes, 0U);
}

TEST_F(DesktopTest, AServerWithoutBodyGetsTheSummaryAlone) {
  NotificationServer server({{}, false, false, ""});
  make();
  send(sample_record());
  const ShownNote note = server.next();
  EXPECT_EQ(note.body, "");
  EXPECT_EQ(note.summary, "KLVN crossed 48.35: heavy, odds 0.94") << "with the judgement: there is no other line";
}

TEST_F(DesktopTest, NoticesOfOneWatchReplaceEachOther) {
  NotificationServer server;
  make();
  send(sample_record());
  send(sample_record(NoticeKind::left_range));
  send(word(sample_notice(), {"ORRI", "", {}}));
  send(sample_record(NoticeKind::fell_under));
  EXPECT_EQ(server.next().replaces, 0U);
  EXPECT_EQ(server.next().replaces, 1U);
  EXPECT_EQ(server.next().replaces, 0U);
  EXPECT_EQ(server.next().replaces, 1U);
}

TEST_F(DesktopTest, AnotherWatchOfTheSymbolTakesNoPlace) {
  NotificationServer server;
  make();
  send(sample_record());
  Notice older = sample_notice(NoticeKind::left_range);
  older.pivot = Price{44'000'000};
  send(word(older, {"KLVN", "", {}}));
  EXPECT_EQ(server.next().replaces, 0U);
  EXPECT_EQ(server.next().replaces, 0U) << "the crossing has not been read yet";
}

// What is said of the program and of feeds comes in any order, often several within a second: none makes another untrue.
TEST_F(DesktopTest, WhatIsSaidOfTheProgramStandsBesideWhatWasSaidOfIt) {
  NotificationServer server;
  make();
  for (int i = 1; i <= 3; ++i) {
    Notice own;
    own.kind = i == 3 ? NoticeKind::feed_silent : NoticeKind::self_check;
    own.count = static_cast<std::uint16_t>(i);
    own.detail = "The disk is full.";
    send(word(own, {i == 3 ? "main" : "", "", {}}));
    EXPECT_EQ(server.next().replaces, 0U);
  }
}

TEST_F(DesktopTest, ADigestTakesNoPlaceOfAnother) {
  NotificationServer server;
  make();
  Message digest = digest_of({sample_record(), sample_record(NoticeKind::left_range)});
  ASSERT_EQ(channel_->send(digest).outcome, Outcome::delivered);
  ASSERT_EQ(channel_->send(digest).outcome, Outcome::delivered);
  digest.id = "digest/2026-11-25/2";
  ASSERT_EQ(channel_->send(digest).outcome, Outcome::delivered);
  EXPECT_EQ(server.next().replaces, 0U);
  EXPECT_EQ(server.next().replaces, 1U) << "sent again it is the same one";
  EXPECT_EQ(server.next().replaces, 0U);
}

// Urgency 2 stays on the screen until it is closed (specification 1.2, section "Urgency Levels"); others go by
// themselves.
TEST_F(DesktopTest, WhatTakesThePlaceOfAnUnreadUrgentOneStaysAsWell) {
  NotificationServer server;
  make();
  send(sample_record());
  send(sample_record(NoticeKind::left_range));
  EXPECT_EQ(server.next().urgency, 2);
  const ShownNote left = server.next();
  EXPECT_EQ(left.urgency, 2) << "whoever was away finds neither otherwise";
  server.close_note(left.id);
  send(word(sample_notice(), {"ORRI", "", {}}));
  server.press(server.next().id, "acknowledge");
  EXPECT_FALSE(next_acknowledged().empty());  // by now the closing has been heard too
  send(sample_record(NoticeKind::back_inside));
  EXPECT_EQ(server.next().urgency, 1) << "read and closed";
}

// As on a desktop after login: the first notice starts the service, and the bus says who took the name after the answer.
TEST_F(DesktopTest, TheButtonOfTheNoticeThatStartedTheServiceWorks) {
  bus_.offer_service();
  make();
  std::thread sending([this] { EXPECT_EQ(send(sample_record()).outcome, Outcome::delivered); });
  EXPECT_TRUE(bus_.wait_for_start());
  NotificationServer server;
  sending.join();
  server.press(server.next().id, "acknowledge");
  EXPECT_EQ(next_acknowledged(), sample_record().id);
  send(sample_record(NoticeKind::left_range));
  EXPECT_EQ(server.next().replaces, 1U);
}

TEST_F(DesktopTest, WhatThePersonClosedIsNotReplaced) {
  NotificationServer server;
  make();
  send(sample_record());
  server.close_note(server.next().id);
  server.press(99, "acknowledge");  // an id of somebody else's: ignored
  send(word(sample_notice(), {"ORRI", "", {}}));
  const std::uint32_t orri = server.next().id;
  server.press(orri, "acknowledge");
  EXPECT_EQ(next_acknowledged(), "2026-11-25/ORRI/48.35/crossed/1");  // by now the closing has been heard too
  send(sample_record(NoticeKind::left_range));
  EXPECT_EQ(server.next().replaces, 0U);
}

TEST_F(DesktopTest, TheButtonAcknowledgesTheNoticeThatIsShown) {
  NotificationServer server;
  make();
  send(sample_record());
  send(sample_record(NoticeKind::left_range));
  const std::uint32_t id = server.next().id;
  server.press(id, "default");
  server.press(id, "acknowledge");
  EXPECT_EQ(next_acknowledged(), "2026-11-25/KLVN/48.35/left-range/1");
}

TEST_F(DesktopTest, TheOtherButtonMutesTheWatchOfTheNotice) {
  NotificationServer server;
  make();
  send(sample_record());
  server.press(server.next().id, "mute");
  EXPECT_EQ(next_acknowledged(), "mute 2026-11-25/KLVN/48.35/crossed/1");
}

// Said again it has a message id of its own, which no notice in the journal has.
TEST_F(DesktopTest, TheButtonOfARepetitionAcknowledgesTheNotice) {
  NotificationServer server;
  make();
  const NoticeRecord record = sample_record();
  send(record);
  Message again = message_of(record);
  again.id = record.id + "/again-1";
  EXPECT_EQ(channel_->send(again).outcome, Outcome::delivered);
  const std::uint32_t id = server.next().id;
  EXPECT_EQ(server.next().id, id) << "it stands where the first one stood";
  server.press(id, "acknowledge");
  EXPECT_EQ(next_acknowledged(), record.id);
}

TEST_F(DesktopTest, WithoutAServerItIsTriedAgainAndFoundWhenItComes) {
  make();
  const Delivery first = send(sample_record());
  EXPECT_EQ(first.outcome, Outcome::retry);
  EXPECT_EQ(first.reply, "no notification server is running");
  NotificationServer server;
  EXPECT_EQ(send(sample_record()).outcome, Outcome::delivered);
}

TEST_F(DesktopTest, ARestartedServerGetsNoIdsOfTheOldOne) {
  make();
  {
    NotificationServer server;
    send(sample_record());
    EXPECT_EQ(server.next().id, 1U);
  }
  NotificationServer server({{"body"}, false, false, ""});
  EXPECT_EQ(send(sample_record(NoticeKind::left_range)).outcome, Outcome::delivered);
  const ShownNote note = server.next();
  EXPECT_EQ(note.replaces, 0U);
  EXPECT_TRUE(note.actions.empty()) << "the new server's abilities count";
}

TEST_F(DesktopTest, AHungServerIsGivenUpInTimeAndTriedAgain) {
  NotificationServer server({{"body"}, true, false, ""});
  make(std::chrono::seconds(1));
  const auto start = std::chrono::steady_clock::now();
  const Delivery delivery = send(sample_record());
  EXPECT_EQ(delivery.outcome, Outcome::retry) << "nothing was asked of it yet: no notice can come twice";
  EXPECT_EQ(delivery.reply, "the notification server does not answer");
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(6));
}

TEST_F(DesktopTest, AServerThatTakesTheNoticeAndFallsSilentLeavesItUnknown) {
  NotificationServer server({{"body"}, false, true, ""});
  make(std::chrono::seconds(1));
  EXPECT_EQ(send(sample_record()).outcome, Outcome::unknown);
}

TEST_F(DesktopTest, AnErrorOfTheServerIsTriedAgain) {
  NotificationServer server({{"body"}, false, false, "org.freedesktop.DBus.Error.LimitsExceeded"});
  make();
  const Delivery delivery = send(sample_record());
  EXPECT_EQ(delivery.outcome, Outcome::retry);
  EXPECT_EQ(delivery.reply, "scripted 1: not now");
}

TEST_F(DesktopTest, ALostBusIsConnectedAnew) {
  make();
  {
    NotificationServer server;
    EXPECT_EQ(send(sample_record()).outcome, Outcome::delivered);
  }
  bus_.kill();
  EXPECT_EQ(send(sample_record()).outcome, Outcome::retry);
  PrivateBus another;
  NotificationServer server;
  EXPECT_EQ(send(sample_record()).outcome, Outcome::delivered);
  EXPECT_EQ(server.next().replaces, 0U);
}

/// A variable of the environment, as it was before when the test is over.
class Variable {
 public:
  Variable(const char* name, const char* value) : name_(name) {
    if (const char* const was = std::getenv(name)) was_ = was;
    value == nullptr ? ::unsetenv(name) : ::setenv(name, value, 1);
  }
  ~Variable() { was_ ? ::setenv(name_, was_->c_str(), 1) : ::unsetenv(name_); }
  Variable(const Variable&) = delete;
  Variable& operator=(const Variable&) = delete;

 private:
  const char* name_;
  std::optional<std::string> was_;
};

// The Debian package dbus-user-session keeps the session's bus at $XDG_RUNTIME_DIR/bus.
TEST_F(DesktopTest, AnAddressOfAnEarlierLoginDoesNotHideTheBusThatIsThere) {
  NotificationServer server;
  const Variable runtime("XDG_RUNTIME_DIR", bus_.folder().c_str());
  for (const char* const stale : {"unix:path=/nowhere/bus", "unix:abstract=/tmp/dbus-of-an-earlier-login", ""}) {
    const Variable address("DBUS_SESSION_BUS_ADDRESS", *stale == 0 ? nullptr : stale);
    make();
    const Delivery delivery = send(sample_record());
    EXPECT_EQ(delivery.outcome, Outcome::delivered) << stale << ": " << delivery.reply;
  }
}

TEST_F(DesktopTest, WithoutAnyBusItSaysWhereItLooked) {
  const Variable runtime("XDG_RUNTIME_DIR", "/nowhere");
  {
    const Variable address("DBUS_SESSION_BUS_ADDRESS", nullptr);
    make();
    EXPECT_EQ(send(sample_record()).reply,
              "no session bus (is a desktop session running?): DBUS_SESSION_BUS_ADDRESS is not set, and none is at "
              "/nowhere/bus");
  }
  const Variable address("DBUS_SESSION_BUS_ADDRESS", "unix:path=/gone/bus");
  const Delivery delivery = send(sample_record());
  EXPECT_EQ(delivery.outcome, Outcome::retry);
  EXPECT_EQ(
      delivery.reply,
      "no session bus (is a desktop session running?): unix:path=/gone/bus: No such file or directory, and none is at "
      "/nowhere/bus");
}

TEST_F(DesktopTest, AFrozenBusDoesNotHoldUs) {
  make(std::chrono::seconds(1));
  bus_.freeze();
  const auto start = std::chrono::steady_clock::now();
  EXPECT_EQ(send(sample_record()).outcome, Outcome::retry);
  EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(6));
}

TEST_F(DesktopTest, HostileTextIsNoMarkupAndNoTrouble) {
  NotificationServer server;
  make();
  for (const std::string& hostile : testing_support::hostile_texts()) {
    NoticeRecord record = word(sample_notice(), {hostile, hostile, {}});
    ASSERT_EQ(send(record).outcome, Outcome::delivered) << hostile;
    const ShownNote note = server.next();
    for (std::size_t at = note.body.find('<'); at != std::string::npos; at = note.body.find('<', at + 1)) {
      EXPECT_TRUE(note.body.compare(at, 3, "<b>") == 0 || note.body.compare(at, 4, "</b>") == 0) << note.body;
    }
    EXPECT_LE(note.summary.size(), 240U);
  }
}

TEST(DesktopNote, ADigestListsTitlesAndTakesTheHighestUrgency) {
  const DesktopNote note =
      desktop_note(digest_of({sample_record(NoticeKind::day_end), sample_record()}), {true, true, true, true, ""});
  EXPECT_EQ(note.urgency, Urgency::critical);
  EXPECT_EQ(note.body, "KLVN ended the day at 48.41, inside the range\nKLVN crossed 48.35: heavy, odds 0.94");
}

TEST(DesktopNote, LatenessComesFirst) {
  Message message = message_of(sample_record());
  message.text = "Late by 12 min.\n" + message.text;
  EXPECT_EQ(desktop_note(message, {true, true, true, true, ""}).body.find("<b>Late by 12 min.</b>\n<b>48.41"), 0U);
}

TEST(DesktopNote, EveryKindHasItsUrgency) {
  const auto urgency = [](NoticeKind kind, Weight weight) { return urgency_of(message_of(sample_record(kind, weight))); };
  EXPECT_EQ(urgency(NoticeKind::crossed, Weight::heavy), Urgency::critical);
  EXPECT_EQ(urgency(NoticeKind::crossed, Weight::unsettled), Urgency::normal);
  EXPECT_EQ(urgency(NoticeKind::crossed, Weight::light), Urgency::normal);
  EXPECT_EQ(urgency(NoticeKind::volume_arrived, Weight::heavy), Urgency::normal);
  EXPECT_EQ(urgency(NoticeKind::feed_silent, Weight::heavy), Urgency::normal);
  EXPECT_EQ(urgency(NoticeKind::loss_limit, Weight::light), Urgency::critical);
  EXPECT_EQ(urgency(NoticeKind::left_range, Weight::heavy), Urgency::normal);
  EXPECT_EQ(urgency(NoticeKind::day_end, Weight::heavy), Urgency::low);
  Notice past = sample_notice();
  past.price = Price{51'000'000};
  EXPECT_EQ(urgency_of(message_of(word(past, {"KLVN", "", {}}))), Urgency::normal) << "nothing is to be done of it now";
}

// Names: Sound Naming Specification 0.8, freedesktop.org.
TEST(DesktopNote, TheSoundTellsTheWeight) {
  const auto sound = [](NoticeKind kind, Weight weight) { return sound_of(message_of(sample_record(kind, weight))); };
  EXPECT_EQ(sound(NoticeKind::crossed, Weight::heavy), "message-new-instant");
  EXPECT_EQ(sound(NoticeKind::crossed, Weight::unsettled), "dialog-information");
  EXPECT_EQ(sound(NoticeKind::crossed, Weight::light), "");
  EXPECT_EQ(sound(NoticeKind::loss_limit, Weight::light), "dialog-warning");
  EXPECT_EQ(sound(NoticeKind::feed_silent, Weight::unknown), "network-connectivity-lost");
  EXPECT_EQ(sound(NoticeKind::day_end, Weight::heavy), "");
  EXPECT_EQ(sound_of(digest_of({sample_record(NoticeKind::day_end), sample_record()})), "message-new-instant");
}

TEST(DesktopNote, ALongDigestSaysHowManyMore) {
  const DesktopNote note =
      desktop_note(digest_of(std::vector<NoticeRecord>(12, sample_record())), {true, true, true, true, ""});
  EXPECT_EQ(std::count(note.body.begin(), note.body.end(), '\n'), 4);
  EXPECT_NE(note.body.find("and 8 more"), std::string::npos) << note.body;
}

TEST(DesktopNote, EveryKindIsThreeLines) {
  for (int i = 0; i < kNoticeKinds; ++i) {
    Notice notice = sample_notice(static_cast<NoticeKind>(i));
    notice.detail = "Nothing came for 45 s; the connection is open. It is tried again.";
    const DesktopNote note = desktop_note(message_of(word(notice, {"KLVN", "", {}})), {true, false, true, true, ""});
    EXPECT_FALSE(note.summary.empty());
    EXPECT_LE(std::count(note.body.begin(), note.body.end(), '\n'), 1) << note.body;
    EXPECT_FALSE(note.body.empty()) << to_string(notice.kind);
  }
}

}  // namespace
}  // namespace brimwatch
