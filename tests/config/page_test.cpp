// The page beyond this machine, and the channels that reach a phone: what the configuration refuses, and in which words.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "config/address.h"
#include "config/loader.h"
#include "tests/support/peer.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

std::vector<std::string> told_of(const std::string& text) {
  const testing_support::TemporaryDirectory folder;
  std::ofstream(folder.path() + "/b.toml") << text << "\n[[watch]]\nsymbol = \"KLVN\"\npivot = 48.35\n";
  std::vector<std::string> out;
  for (const Problem& problem : load_settings(folder.path() + "/b.toml").problems) out.push_back(to_string(problem));
  return out;
}

constexpr const char* kKeys = "certificate = \"a.pem\"\nkey = \"a.key\"\n";

TEST(PageSettingsTest, OverTlsOrToThisMachineAlone) {
  const std::string address = "address = \"https://desk.example.org:8443\"\n";
  EXPECT_THAT(told_of("[page]\nlisten = \"192.0.2.7:8443\"\n" + address + kKeys), testing::IsEmpty());
  EXPECT_THAT(told_of("[page]\nlisten = \"127.0.0.1:8723\"\n" + address), testing::IsEmpty());
  for (const char* open : {"192.0.2.7:8443", "0.0.0.0:8443", "[::]:8443", "127.0.0.2:8443"}) {
    const auto told = told_of("[page]\nlisten = \"" + std::string(open) + "\"\n" + address);
    ASSERT_EQ(told.size(), 1U) << open;
    EXPECT_THAT(told[0], HasSubstr("b.toml:2:1: [page]: listen: found \"" + std::string(open) +
                                   "\" without certificate and key, expected both"));
  }
}

TEST(PageSettingsTest, WhatBelongsTogetherIsAskedFor) {
  EXPECT_THAT(told_of("[page]\nlisten = \"192.0.2.7:8443\"\n" + std::string(kKeys)).at(0),
              HasSubstr("found it without address"));
  EXPECT_THAT(told_of("[page]\naddress = \"https://desk.example.org\"\n").at(0), HasSubstr("found it without listen"));
  const std::string both = "[page]\nlisten = \"192.0.2.7:8443\"\n" + std::string(kKeys) + "address = ";
  for (const char* bad : {"http://desk.example.org", "https://desk.example.org/page", "https://me:pw@desk.example.org",
                          "https://desk.example.org:443"})
    EXPECT_EQ(told_of(both + '"' + bad + '"').size(), 1U) << bad;
  EXPECT_THAT(
      told_of("[page]\nlisten = \"desk.example.org:8443\"\naddress = \"https://desk.example.org\"\n" + std::string(kKeys))
          .at(0),
      HasSubstr("expected an address and a port, such as \"192.0.2.7:8443\""));
}

TEST(ListenEndTest, IsAnAddressAndAPort) {
  EXPECT_EQ(parse_listen("[::1]:80")->host, "::1");
  EXPECT_TRUE(parse_listen("127.0.0.1:1")->loopback);
  EXPECT_FALSE(parse_listen("0.0.0.0:1")->loopback);
  for (const char* bad :
       {"", ":80", "1.2.3.4", "1.2.3.4:0", "1.2.3.4:65536", "::1:80", "[1.2.3.4]:80", "1.2.3:80", "a:80", "[::1]80"})
    EXPECT_FALSE(parse_listen(bad)) << bad;
}

TEST(ChannelSettingsTest, PushMqttAndFormsSayWhatIsMissing) {
  const auto channel = [](const std::string& keys) { return told_of("[[channel]]\n" + keys); };
  EXPECT_THAT(channel("kind = \"push\"\n").at(0),
              HasSubstr("contact: found none, expected whom a push service can write to"));
  EXPECT_THAT(channel("kind = \"push\"\ncontact = \"me\"\n").at(0), HasSubstr("expected \"mailto:\" and an address"));
  EXPECT_THAT(channel("kind = \"push\"\ncontact = \"mailto:me@example.org\"\n"), testing::IsEmpty());
  EXPECT_THAT(channel("kind = \"mqtt\"\nurl = \"mqtts://b.example.org\"\n").at(0), HasSubstr("topic: found none"));
  EXPECT_THAT(channel("kind = \"mqtt\"\nurl = \"mqtts://b.example.org\"\ntopic = \"a/#\"\n").at(0),
              HasSubstr("without + and #"));
  EXPECT_EQ(channel("kind = \"mqtt\"\nurl = \"mqtt://b.example.org\"\ntopic = \"a\"\n").size(), 1U);
  const std::string hook = "kind = \"webhook\"\nurl = \"https://hook.example.org\"\n";
  EXPECT_THAT(channel(hook + "method = \"PUT\"\n").at(0), HasSubstr("method: found it without body"));
  EXPECT_THAT(channel(hook + "body = \"x\"\npicture_part = \"file\"\n").at(0), HasSubstr("found it without body_part"));
  EXPECT_THAT(channel(hook + "body = \"x\"\nsuccess_status = [\"20\"]\n").at(0), HasSubstr("\"2xx\", or a status"));
  EXPECT_THAT(channel(hook + "body = \"x\"\nsuccess_equals = \"1\"\n").at(0), HasSubstr("found it without success_at"));
}

}  // namespace
}  // namespace brimwatch
