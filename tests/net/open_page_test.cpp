// What guards the page beyond this machine: how often one may come, and which keys it is served with. The page itself,
// over TLS and attacked as from a network, is in tests/browser/devices_test.mjs.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>

#include "adapters/net/allowance.h"
#include "adapters/net/tls_keys.h"
#include "tests/support/peer.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

TEST(AllowanceTest, SoManyAtOnceAndThenAsTheyGrowBack) {
  Allowance allowance({3, 2, 8});
  for (int n = 0; n < 3; ++n) EXPECT_TRUE(allowance.take("a", 0));
  EXPECT_FALSE(allowance.take("a", 0));
  EXPECT_TRUE(allowance.take("b", 0));
  EXPECT_FALSE(allowance.take("a", kSecond / 4));
  EXPECT_TRUE(allowance.take("a", kSecond / 2));
  EXPECT_FALSE(allowance.take("a", kSecond / 2));
  for (int n = 0; n < 3; ++n) EXPECT_TRUE(allowance.take("a", 3600 * kSecond));
  EXPECT_FALSE(allowance.take("a", 3600 * kSecond));
}

TEST(AllowanceTest, WhoHasSpentIsRememberedAmongManyStrangers) {
  Allowance allowance({2, 0.001, 16});
  EXPECT_TRUE(allowance.take("greedy", 0));
  EXPECT_TRUE(allowance.take("greedy", 0));
  for (int n = 0; n < 1000; ++n) (void)allowance.take("stranger " + std::to_string(n), 1);
  EXPECT_EQ(allowance.known(), 16U);
  EXPECT_FALSE(allowance.take("greedy", 2));
}

class TlsKeysTest : public ::testing::Test {
 protected:
  void SetUp() override {
    ASSERT_TRUE(testing_support::make_certificate(folder_.path(), "one", "DNS:desk.example.org"));
    ASSERT_TRUE(testing_support::make_certificate(folder_.path(), "two", "DNS:desk.example.org"));
    for (const char* name : {"/one.key", "/two.key"}) ::chmod((folder_.path() + name).c_str(), 0600);
  }
  [[nodiscard]] std::string file(const std::string& name) const { return folder_.path() + "/" + name; }
  [[nodiscard]] std::string trouble(const std::string& certificate, const std::string& key) const {
    const auto keys = TlsKeys::load(file(certificate), file(key));
    return keys ? std::string() : keys.error().text;
  }
  testing_support::TemporaryDirectory folder_;
};

TEST_F(TlsKeysTest, ThoseThatBelongTogetherAreTaken) {
  const auto keys = TlsKeys::load(file("one.pem"), file("one.key"));
  ASSERT_TRUE(keys) << keys.error().text;
  const auto before = (*keys)->current();
  (*keys)->take(**TlsKeys::load(file("two.pem"), file("two.key")));
  EXPECT_NE((*keys)->current(), before);
}

TEST_F(TlsKeysTest, OthersAreRefusedWithTheirName) {
  EXPECT_THAT(trouble("none.pem", "one.key"), HasSubstr("none.pem"));
  EXPECT_THAT(trouble("one.pem", "none.key"), HasSubstr("none.key"));
  EXPECT_THAT(trouble("one.pem", "two.key"), HasSubstr("two.key: found"));
  EXPECT_THAT(trouble("one.key", "one.key"), HasSubstr("found no certificate"));
  EXPECT_THAT(trouble("one.pem", "one.pem"), HasSubstr("one.pem"));
  ::chmod(file("one.key").c_str(), 0644);
  EXPECT_THAT(trouble("one.pem", "one.key"), HasSubstr("one.key"));
}

}  // namespace
}  // namespace brimwatch
