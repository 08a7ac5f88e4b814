// A real etcd with users: tokens that end are renewed, and what it refuses says what a person can do.
#include <gmock/gmock.h>

#include <cstdlib>

#include "adapters/etcd/connection.h"
#include "adapters/etcd/etcd_log.h"
#include "etcd_server.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

bool run(const std::string& command) {
  return std::system((command + " >/dev/null 2>&1").c_str()) == 0;  // NOLINT(concurrency-mt-unsafe)
}

/// Signed tokens that are good for a second, one user whose role is limited to the house.
struct EtcdUsers : testing::Test {
  void SetUp() override {
    char name[] = "/tmp/brimwatch-keys-XXXXXX";
    ASSERT_NE(::mkdtemp(name), nullptr);
    folder = name;
    const std::string key = folder + "/a.key", pub = folder + "/a.pub";
    ASSERT_TRUE(run("openssl genrsa -out " + key + " 2048 && openssl rsa -in " + key + " -pubout -out " + pub));
    server = std::make_unique<test::EtcdServer>(std::vector<std::string>{
        "--auth-token", "jwt,pub-key=" + pub + ",priv-key=" + key + ",sign-method=RS256,ttl=1s"});
    if (server->address().empty()) GTEST_SKIP() << "there is no etcd on this machine (Debian: etcd-server)";
    const std::string control = "etcdctl --endpoints " + server->address() + " --command-timeout 20s ";
    for (const char* words : {"user add root:x", "role add house", "user add brimwatch:word", "user grant-role root root",
                              "role grant-permission house --prefix=true readwrite brimwatch/mine/",
                              "user grant-role brimwatch house", "auth enable"})
      ASSERT_TRUE(run(control + words)) << words;
  }
  void TearDown() override {
    std::error_code error;
    std::filesystem::remove_all(folder, error);
  }
  std::unique_ptr<EtcdConnection> connect(const std::string& user, const char* word) {
    SharedSettings settings;
    settings.name = "home", settings.house = "mine", settings.insecure_loopback = true;
    settings.etcd = {server->address()}, settings.user = user;
    return std::make_unique<EtcdConnection>(
        settings, EtcdWorld{{}, [this, word](const SecretSource&) { return ++tokens, Result<Secret>(Secret(word)); }});
  }
  static LogRequest put(const char* key) {
    LogRequest request;
    request.writes.push_back({key, "1"});
    request.patience = 10 * kSecond;
    return request;
  }

  std::string folder;
  std::unique_ptr<test::EtcdServer> server;
  int tokens = 0;  ///< asked for
};

TEST_F(EtcdUsers, a_signed_token_that_has_ended_is_renewed_without_a_lost_answer) {
  const auto connection = connect("brimwatch", "word");
  for (int asked = 0; tokens < 3 && asked < 100'000; ++asked) {
    const LogAnswer answer = connection->ask(put("brimwatch/mine/a"));
    ASSERT_TRUE(answer.is_done()) << answer.words;
  }
  EXPECT_EQ(tokens, 3);
}

TEST_F(EtcdUsers, what_etcd_refuses_says_what_a_person_can_do) {
  const auto words = [&](const std::string& user, const char* word, const char* key) {
    return connect(user, word)->ask(put(key)).words;
  };
  EXPECT_THAT(words("", "", "brimwatch/mine/a"), HasSubstr("it wants a user: give [shared] user and password"));
  EXPECT_THAT(words("brimwatch", "word", "brimwatch/theirs/a"), HasSubstr("lacks readwrite on the prefix"));
  EXPECT_THAT(words("brimwatch", "wrong", "brimwatch/mine/a"), HasSubstr("refuses user and password"));
}

}  // namespace
}  // namespace brimwatch
