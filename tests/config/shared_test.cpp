// [shared]: what it takes, and what it says of each mistake, word for word.
#include <gmock/gmock.h>

#include "config/changes.h"
#include "config/loader.h"
#include "folder.h"

namespace brimwatch {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

constexpr const char* kHead = "[shared]\nname = \"home\"\nhouse = \"mine\"\n";
constexpr const char* kThree =
    "etcd = [\"https://10.0.0.1:2379\", \"https://10.0.0.2:2379\", \"https://10.0.0.3:2379\"]\n";

struct SharedSection : testing::Test {
  Folder folder;
  Loaded loaded;

  std::vector<std::string> errors_of(const std::string& text) {
    loaded = load_settings(folder.write("main.toml", text));
    return folder.lines(loaded.problems);
  }
};

TEST_F(SharedSection, is_off_where_it_does_not_stand) {
  EXPECT_THAT(errors_of("[log]\nlevel = \"info\"\n"), IsEmpty());
  EXPECT_FALSE(loaded.settings.shared.on());
}

TEST_F(SharedSection, reads_every_key) {
  EXPECT_THAT(errors_of(std::string(kHead) + kThree + R"(user = "brimwatch"
password = { env = "BRIMWATCH_ETCD" }
certificate = "a.pem"
key = "a.key"
ca_file = "ca.pem"
ttl = 1.5
feed = "at-takeover"
alone_after = 0
)"),
              IsEmpty());
  const SharedSettings& shared = loaded.settings.shared;
  EXPECT_TRUE(shared.on());
  EXPECT_EQ(shared.name, "home");
  EXPECT_THAT(shared.etcd, testing::SizeIs(3));
  EXPECT_EQ(shared.ttl.count(), 1500);
  EXPECT_EQ(shared.feed, "at-takeover");
  EXPECT_EQ(shared.alone_after.count(), 0);
  EXPECT_EQ(shared.password.name, "BRIMWATCH_ETCD");
  EXPECT_THAT(folder.lines(loaded.warnings), Not(Contains(HasSubstr("[shared]"))));
}

TEST_F(SharedSection, refuses_names_that_do_not_fit_into_a_key) {
  EXPECT_THAT(errors_of(std::string("[shared]\nname = \"a/b\"\n") + kThree),
              ElementsAre("main.toml:1:2: [shared]: house: found none, expected letters, digits, - and _, such as "
                          "\"home\"; nothing was loaded",
                          "main.toml:2:1: [shared]: name: found \"a/b\", expected letters, digits, - and _, such as "
                          "\"home\"; nothing was loaded"));
}

TEST_F(SharedSection, takes_an_open_address_to_this_machine_alone) {
  const std::string open = std::string(kHead) + "etcd = [\"http://127.0.0.1:2379\"]\n";
  EXPECT_THAT(errors_of(open), ElementsAre(HasSubstr("with insecure_loopback = true")));
  EXPECT_THAT(errors_of(open + "insecure_loopback = true\n"), IsEmpty());
  EXPECT_THAT(errors_of(std::string(kHead) + "insecure_loopback = true\netcd = [\"http://10.0.0.1:2379\"]\n"),
              ElementsAre(HasSubstr("unencrypted only to 127.0.0.1 or [::1]")));
  EXPECT_THAT(errors_of(kHead), ElementsAre(HasSubstr("etcd: found 0 addresses, expected 1 to 7")));
}

TEST_F(SharedSection, wants_pairs_whole) {
  EXPECT_THAT(errors_of(std::string(kHead) + kThree + "user = \"brimwatch\"\n"),
              ElementsAre("main.toml:5:1: [shared]: user: found it without password, expected both or neither; nothing "
                          "was loaded"));
  EXPECT_THAT(errors_of(std::string(kHead) + kThree + "key = \"a.key\"\n"),
              ElementsAre(HasSubstr("key: found it without certificate")));
}

TEST_F(SharedSection, is_asked_directly_at_an_address_of_its_own) {
  const std::string keys = "certificate = \"a.pem\"\nkey = \"a.key\"\n", whole = std::string(kHead) + kThree + keys;
  EXPECT_THAT(errors_of(whole + "direct = \"https://10.0.0.1:2390\"\n"), IsEmpty());
  EXPECT_EQ(loaded.settings.shared.direct, "https://10.0.0.1:2390");
  EXPECT_THAT(folder.lines(loaded.warnings), Not(Contains(HasSubstr("[shared]"))));
  EXPECT_THAT(errors_of(whole), IsEmpty());
  EXPECT_THAT(folder.lines(loaded.warnings),
              Contains("main.toml:1:2: [shared]: found no direct: the other machines cannot ask this one whether it "
                       "speaks, and one that alone loses etcd speaks too after 60 s: what is told may then come twice; "
                       "expected direct = \"https://ADDRESS:PORT\" of this machine"));
  EXPECT_THAT(errors_of(whole + "direct = \"https://desk.example.org:2390\"\n"),
              ElementsAre("main.toml:7:1: [shared]: direct: found \"https://desk.example.org:2390\", expected https:// "
                          "with an address of this machine and a port, such as \"https://10.0.0.1:2390\"; nothing was "
                          "loaded"));
  for (const char* wrong : {"http://10.0.0.1:2390", "http://127.0.0.1:2390", "10.0.0.1:2390", "https://10.0.0.1", ""})
    EXPECT_THAT(errors_of(whole + "direct = \"" + wrong + "\"\n"), ElementsAre(HasSubstr("direct: found \""))) << wrong;
  EXPECT_THAT(errors_of(std::string(kHead) + kThree + "direct = \"https://10.0.0.1:2390\"\n"),
              ElementsAre(HasSubstr("direct: found it without certificate and key")));
  EXPECT_THAT(errors_of(whole + "insecure_loopback = true\ndirect = \"http://[::1]:2390\"\n"), IsEmpty());
}

TEST_F(SharedSection, says_that_two_have_no_majority) {
  EXPECT_THAT(errors_of(std::string(kHead) + "etcd = [\"https://10.0.0.1:2379\", \"https://10.0.0.2:2379\"]\n"),
              IsEmpty());
  EXPECT_THAT(folder.lines(loaded.warnings),
              Contains(HasSubstr("main.toml:4:1: [shared]: etcd: found two addresses: two have no majority")));
}

TEST_F(SharedSection, a_change_of_it_waits_for_the_next_start) {
  ASSERT_THAT(errors_of(std::string(kHead) + kThree), IsEmpty());
  const Settings old = loaded.settings;
  ASSERT_THAT(errors_of(std::string(kHead) + kThree + "ttl = 3\n"), IsEmpty());
  EXPECT_EQ(summary(compare(old, loaded.settings), old, loaded.settings),
            "[shared] changed, used from the next start on");
}

}  // namespace
}  // namespace brimwatch
