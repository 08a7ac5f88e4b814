// Devices: what is kept of them, who they are by their cookie, and that nothing of it is lost or given away.
#include "adapters/push/devices.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <fstream>
#include <sstream>
#include <thread>

#include "adapters/push/base64url.h"
#include "adapters/push/device_file.h"
#include "adapters/push/pairing.h"
#include "tests/support/peer.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing::Not;
using testing_support::TemporaryDirectory;

constexpr Timestamp kNow{1'764'085'327 * kSecond};

PushSubscription subscription(const std::string& endpoint) {
  return {endpoint, P256::generate()->public_bytes(), std::string(16, 'a')};
}

std::string text_of(const std::string& path) {
  std::ostringstream out;
  out << std::ifstream(path).rdbuf();
  return out.str();
}

class DevicesTest : public ::testing::Test {
 protected:
  std::shared_ptr<Devices> open() { return Devices::open(path_).value(); }
  TemporaryDirectory folder_;
  std::string path_ = folder_.path() + "/j.devices.json";
};

TEST_F(DevicesTest, ADeviceIsKnownByItsCookieAloneAlsoAfterARestart) {
  const std::string cookie = open()->add("phone", DeviceRight::look, kNow).value();
  const auto devices = open();
  EXPECT_EQ(devices->visitor(cookie, kNow).right, DeviceRight::look);
  EXPECT_EQ(devices->visitor(cookie, kNow).name, "phone");
  for (const std::string& wrong : {std::string(), std::string("."), cookie + "x", cookie.substr(0, cookie.size() - 1),
                                   "x" + cookie, cookie.substr(0, cookie.find('.') + 1), std::string(5000, 'a') + ".b"})
    EXPECT_EQ(devices->visitor(wrong, kNow).right, DeviceRight::none) << wrong;
}

TEST_F(DevicesTest, TheFileHoldsNoCookieAndIsForItsOwnerAlone) {
  const std::string cookie = open()->add("phone", DeviceRight::answer, kNow).value();
  EXPECT_THAT(text_of(path_), Not(HasSubstr(cookie.substr(cookie.find('.') + 1))));
  struct stat about {};
  ASSERT_EQ(::stat(path_.c_str(), &about), 0);
  EXPECT_EQ(about.st_mode & 0777, 0600U);
}

TEST_F(DevicesTest, ARevokedOneIsNobody) {
  const auto devices = open();
  const std::string phone = devices->add("phone", DeviceRight::answer, kNow).value(),
                    other = devices->add("phone", DeviceRight::look, kNow).value();
  EXPECT_TRUE(devices->subscribe(devices->visitor(phone, kNow).id, subscription("https://push.example.net/1"), kNow));
  EXPECT_EQ(devices->revoke("phone").value(), "phone");
  EXPECT_EQ(devices->visitor(phone, kNow).right, DeviceRight::none);
  EXPECT_TRUE(devices->targets().empty());
  EXPECT_EQ(devices->visitor(other, kNow).name, "phone 2");
  EXPECT_THAT(devices->revoke("phone").error().text, HasSubstr("found no device \"phone\""));
  EXPECT_EQ(open()->all().size(), 1U);
}

TEST_F(DevicesTest, SubscriptionsAreKeptOncePerBrowserAndFewOfADevice) {
  const auto devices = open();
  for (int n = 0; n < 7; ++n)
    EXPECT_TRUE(devices->subscribe("", subscription("https://push.example.net/" + std::to_string(n)), kNow));
  EXPECT_TRUE(devices->subscribe("", subscription("https://push.example.net/6"), kNow));
  EXPECT_EQ(devices->targets().size(), kSubscriptionsMost);
  EXPECT_EQ(devices->targets().back().device, "this machine");
  EXPECT_TRUE(devices->unsubscribe("https://push.example.net/6"));
  EXPECT_EQ(open()->targets().size(), kSubscriptionsMost - 1);
  EXPECT_FALSE(devices->subscribe("nobody", subscription("https://push.example.net/9"), kNow));
}

TEST_F(DevicesTest, ThePushKeyStaysTheSame) {
  const std::string key = open()->push_key().value().public_bytes();
  EXPECT_EQ(open()->push_key().value().public_bytes(), key);
}

TEST_F(DevicesTest, WhatIsDamagedIsLeftAsItIs) {
  for (const char* text :
       {"", "{", "[]", R"({"version":2,"devices":[]})", R"({"version":1,"devices":[{"id":"a","right":"all"}]})",
        R"({"version":1,"devices":[{"id":"a","right":"look","push":[{"endpoint":"ftp://x"}]}]})"}) {
    std::ofstream(path_) << text;
    const auto devices = Devices::open(path_);
    ASSERT_FALSE(devices) << text;
    EXPECT_THAT(devices.error().text, HasSubstr(path_));
    EXPECT_EQ(text_of(path_), text);
  }
}

TEST_F(DevicesTest, ManyAtOnceLoseNothing) {
  const auto devices = open();
  std::vector<std::thread> threads;
  for (int n = 0; n < 4; ++n)
    threads.emplace_back([&, n] {
      for (int i = 0; i < 5; ++i) {
        (void)devices->add("device " + std::to_string(n), DeviceRight::look, kNow);
        (void)devices->visitor("a.b", kNow);
      }
    });
  for (std::thread& thread : threads) thread.join();
  EXPECT_EQ(open()->all().size(), 20U);
}

TEST_F(DevicesTest, NoNameAndNoIdLooksLikeAnOption) {
  const auto devices = open();
  for (const char* name : {"--help", "- phone", "---"}) ASSERT_TRUE(devices->add(name, DeviceRight::look, kNow));
  std::vector<std::string> names;
  for (const Device& device : devices->all()) {
    names.push_back(device.name);
    EXPECT_EQ(device.id.find_first_not_of("0123456789abcdef"), std::string::npos) << device.id;
  }
  EXPECT_THAT(names, testing::ElementsAre("help", "phone", "device"));
}

TEST_F(DevicesTest, ThereIsABoundAndItIsSaid) {
  const auto devices = open();
  for (std::size_t n = 0; n < kDevicesMost; ++n) ASSERT_TRUE(devices->add("d", DeviceRight::look, kNow));
  EXPECT_THAT(devices->add("d", DeviceRight::look, kNow).error().text, HasSubstr("revoke one first"));
}

// The Push API's own form (W3C, PushSubscription.toJSON).
TEST(Subscription, IsWhatABrowserSays) {
  const std::string key = base64url(P256::generate()->public_bytes()), auth = base64url(std::string(16, 'a'));
  const auto json = [&](const std::string& endpoint, const std::string& p256dh, const std::string& secret) {
    return R"({"endpoint":")" + endpoint + R"(","expirationTime":null,"keys":{"p256dh":")" + p256dh + R"(","auth":")" +
           secret + R"("}})";
  };
  EXPECT_TRUE(subscription_of(json("https://push.example.net/a", key, auth)));
  for (const char* endpoint :
       {"http://push.example.net/a", "file:///etc/passwd", "https://user:pw@push.example.net/", "https:///a", "",
        "http://localhost/", "https://a\\u000d\\u000aX: y/", "gopher://127.0.0.1"})
    EXPECT_FALSE(subscription_of(json(endpoint, key, auth))) << endpoint;
  EXPECT_FALSE(subscription_of(json("https://push.example.net/a", key.substr(1), auth)));
  EXPECT_FALSE(subscription_of(json("https://push.example.net/a", key, "")));
  for (const char* text : {"", "null", "[]", "{}", "{\"keys\":[]}", "{\"endpoint\":1,\"keys\":{\"p256dh\":2}}"})
    EXPECT_FALSE(subscription_of(text)) << text;
}

TEST(DeviceFile, SaysAllAndReadsItAgain) {
  DeviceBook book{{{"id",
                    "phone \xF0\x9F\x93\xB1 \"x\"",
                    DeviceRight::answer,
                    "ab",
                    kNow,
                    kNow,
                    {subscription("https://p.example.net/1")}}},
                  P256::generate()->private_bytes()};
  EXPECT_EQ(device_book_of(to_text(book)).value(), book);
}

TEST(DeviceFile, StandsBesideTheJournal) {
  EXPECT_EQ(devices_file("/a/journal.db"), "/a/journal.devices.json");
  EXPECT_EQ(devices_file("/a/b"), "/a/b.devices.json");
}

TEST(PairingTest, ACodeIsGoodOnceAndForTenMinutes) {
  Pairing pairing;
  const std::string code =
      pairing.offer({"phone", DeviceRight::look}, std::string("\0\1\2\3\4\5\6\7\x8\x9\xA\xB", 12), 0);
  EXPECT_EQ(code, "ABCD-EFGH-JKMN");
  EXPECT_FALSE(pairing.take("ABCD-EFGH-JKMM", kSecond));
  EXPECT_EQ(pairing.take(" abcdefgh jkmn", kSecond)->name, "phone");
  EXPECT_FALSE(pairing.take(code, kSecond));
  const std::string late = pairing.offer({}, std::string(12, '\x1F'), 0);
  EXPECT_FALSE(pairing.take(late, Pairing::kGoodFor));
}

TEST(PairingTest, WhoGuessesHasFewTries) {
  Pairing pairing;
  const std::string code = pairing.offer({}, std::string(12, '\x05'), 0);
  for (int n = 0; n < Pairing::kTriesMost; ++n) EXPECT_FALSE(pairing.take("WRONG", 1));
  EXPECT_FALSE(pairing.take(code, 1));
  for (std::size_t n = 0; n < Pairing::kCodesMost + 5; ++n)
    (void)pairing.offer({}, std::string(12, static_cast<char>(n)), 1);
  EXPECT_EQ(pairing.open(1), Pairing::kCodesMost);
}

}  // namespace
}  // namespace brimwatch
