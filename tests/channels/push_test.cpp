// The push channel against a web server that plays the push service. What is inside, and who can read it, is judged by
// the reference libraries in tests/browser.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "adapters/channels/push_text.h"
#include "adapters/channels/table.h"
#include "adapters/push/sealed.h"
#include "tests/channels/messages.h"
#include "tests/channels/web_peer.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing_support::digest_of;
using testing_support::message_of;
using testing_support::sample_record;
using testing_support::TemporaryDirectory;
using testing_support::WebPeer;

class PushChannel : public ::testing::Test {
 protected:
  void subscribe(const std::string& endpoint) {
    ASSERT_TRUE(
        devices_->subscribe("", {endpoint, P256::generate()->public_bytes(), std::string(16, 'a')}, Timestamp{kSecond}));
  }
  std::unique_ptr<Channel> channel() {
    ChannelSettings settings;
    settings.name = settings.kind = "push";
    settings.contact = "mailto:me@example.org";
    settings.insecure_loopback = true;
    settings.timeout = std::chrono::seconds(6);
    ChannelContext context = default_context();
    context.devices = devices_;
    context.now = [] { return std::chrono::sys_seconds{std::chrono::seconds(1'764'085'327 + 60)}; };  // a minute after it
    return std::move(*make_channel(settings, context));
  }
  static Message crossing() { return message_of(sample_record()); }

  TemporaryDirectory folder_;
  std::shared_ptr<Devices> devices_ = Devices::open(folder_.path() + "/j.devices.json").value();
};

// RFC 8030 sections 5.2 to 5.4, RFC 8291 section 4, RFC 8292 section 3.
TEST_F(PushChannel, SaysWhoForHowLongAndHowUrgent) {
  WebPeer service({"201"});
  subscribe(service.url("/send/1"));
  const Delivery delivery = channel()->send(crossing());
  EXPECT_EQ(delivery.outcome, Outcome::delivered) << delivery.reply;
  EXPECT_EQ(delivery.reply, "1 of 1 browser");
  const OrderedJson headers = service.request()["headers"];
  EXPECT_EQ(headers["content-encoding"], "aes128gcm");
  EXPECT_EQ(headers["urgency"], "high");
  EXPECT_THAT(headers["authorization"].get<std::string>(), HasSubstr("vapid t="));
  const std::string topic = headers["topic"];
  EXPECT_EQ(topic.size(), 32U);
  EXPECT_EQ(topic.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"),
            std::string::npos);
}

TEST_F(PushChannel, ANewerNoticeOfTheSameWatchHasTheSameTopic) {
  const auto at = std::chrono::sys_seconds{std::chrono::seconds(sample_record().notice.time.ns / kSecond + 60)};
  const auto terms = [&](const Message& message, std::string_view key) {
    return push_terms(message, std::chrono::seconds(900), at, key);
  };
  EXPECT_EQ(terms(crossing(), "k").topic, terms(message_of(sample_record(NoticeKind::left_range)), "k").topic);
  EXPECT_NE(terms(crossing(), "k").topic, terms(crossing(), "other key").topic);
  Message other = crossing();
  other.notices[0].notice.pivot = Price{50'000'000};
  EXPECT_NE(terms(crossing(), "k").topic, terms(other, "k").topic);
  EXPECT_EQ(terms(crossing(), "k").time_to_live, std::chrono::seconds(840));
  EXPECT_EQ(terms(message_of(sample_record(NoticeKind::day_end)), "k").time_to_live, std::chrono::hours(24));
}

// RFC 8030 section 5.4: a message replaces one of the same topic that has not been fetched yet, which then never comes.
TEST_F(PushChannel, WhatStandsForItselfHasATopicOfItsOwn) {
  const auto topic = [](const Message& message) { return push_terms(message, std::chrono::seconds(900), {}, "k").topic; };
  const auto own = [](int count) {
    Notice notice;
    notice.kind = NoticeKind::self_check;
    notice.count = static_cast<std::uint16_t>(count);
    notice.detail = "The disk is full.";
    return message_of(word(notice, {"", "", {}}));
  };
  EXPECT_NE(topic(own(1)), topic(own(2)));
  EXPECT_EQ(topic(own(1)), topic(own(1)));
  Message digest = digest_of({sample_record(), sample_record(NoticeKind::left_range)});
  const std::string before = topic(digest);
  EXPECT_EQ(topic(digest), before) << "sent again it is the same one";
  digest.id += "0";
  EXPECT_NE(topic(digest), before);
}

TEST_F(PushChannel, ADigestIsAsUrgentAsTheMostUrgentInIt) {
  const auto at = std::chrono::sys_seconds{std::chrono::seconds(sample_record().notice.time.ns / kSecond + 60)};
  const auto terms = [&](const Message& message) { return push_terms(message, std::chrono::seconds(900), at, "k"); };
  const PushTerms mixed = terms(digest_of({sample_record(NoticeKind::day_end), sample_record()}));
  EXPECT_TRUE(mixed.urgent);
  EXPECT_EQ(mixed.time_to_live, std::chrono::hours(24)) << "the other one is worth showing tomorrow";
  EXPECT_EQ(terms(digest_of({sample_record(), sample_record(NoticeKind::left_range)})).time_to_live,
            std::chrono::seconds(840));
}

TEST_F(PushChannel, WhoIsGoneIsForgotten) {
  for (const char* answer : {"404", "410"}) {
    WebPeer gone({answer}), there({"201"});
    subscribe(gone.url("/1"));
    subscribe(there.url("/2"));
    const Delivery delivery = channel()->send(crossing());
    EXPECT_EQ(delivery.outcome, Outcome::delivered);
    EXPECT_EQ(delivery.reply, "1 of 2 browsers, 1 gone and forgotten");
    ASSERT_EQ(devices_->targets().size(), 1U);
    EXPECT_EQ(Devices::open(folder_.path() + "/j.devices.json").value()->targets().size(), 1U);
    ASSERT_TRUE(devices_->unsubscribe(there.url("/2")));
  }
}

TEST_F(PushChannel, WhoHasItIsNotToldAgainWhileAnotherIsTried) {
  WebPeer fine({"201"}), busy({"429;Retry-After: 7", "201"});
  subscribe(fine.url("/1"));
  subscribe(busy.url("/2"));
  const auto push = channel();
  const Delivery first = push->send(crossing());
  EXPECT_EQ(first.outcome, Outcome::retry);
  EXPECT_EQ(first.retry_after, std::chrono::seconds(7));
  EXPECT_EQ(push->send(crossing()).outcome, Outcome::delivered);
  (void)fine.request();
  EXPECT_FALSE(fine.was_asked());
}

TEST_F(PushChannel, WithoutABrowserItSaysWhatToDo) {
  const Delivery delivery = channel()->send(crossing());
  EXPECT_EQ(delivery.outcome, Outcome::dead);
  EXPECT_THAT(delivery.reply, HasSubstr("open the page there"));
  devices_ = nullptr;
  EXPECT_EQ(channel()->send(crossing()).outcome, Outcome::dead);
}

TEST_F(PushChannel, ARefusalIsFinalAndSaid) {
  WebPeer service({"403|the key is another one"});
  subscribe(service.url("/1"));
  const Delivery delivery = channel()->send(crossing());
  EXPECT_EQ(delivery.outcome, Outcome::dead);
  EXPECT_THAT(delivery.reply, HasSubstr("this machine: HTTP 403: the key is another one"));
}

TEST(PushText, ThreeLinesForALockedScreen) {
  const OrderedJson said = OrderedJson::parse(push_text(message_of(sample_record())));
  EXPECT_EQ(said["title"], sample_record().title);
  EXPECT_EQ(said["lines"].size(), 3U);
  EXPECT_THAT(said["lines"][0].get<std::string>(), HasSubstr("612k"));
  EXPECT_EQ(said["id"], sample_record().id);
  EXPECT_EQ(said["symbol"], "KLVN");
  EXPECT_EQ(said["urgent"], true);
}

TEST(PushText, ADigestNamesItsNoticesAndNothingIsEverTooLong) {
  const OrderedJson digest = OrderedJson::parse(push_text(digest_of(std::vector<NoticeRecord>(5, sample_record()))));
  EXPECT_THAT(digest["lines"][2].get<std::string>(), HasSubstr("and 2 more"));
  Message huge = message_of(sample_record());
  for (int n = 0; n < 5000; ++n) huge.title += "\xF0\x9F\x93\x88", huge.notices[0].note += "\xF0\x9F\x93\x88";
  huge.id = std::string(100'000, 'x');
  EXPECT_LE(push_text(huge).size(), kSealedMost);
}

}  // namespace
}  // namespace brimwatch
