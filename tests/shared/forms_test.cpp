// Members of two versions on one log, in virtual time: which form is written, and who can read it.
#include "voices.h"

namespace brimwatch {
namespace {

using test::FakeLink;
using test::Machine;
using test::Voices;
using testing::ElementsAre;
using testing::HasSubstr;

/// Two members of two versions: what the newer one writes, the older one reads, also when it has been away for a while;
/// once it has left for good, the newer form is written, and whoever comes back cannot read it and does not lead.
struct Forms : Voices {
  Forms() { home.die(), cloud.die(); }
  void wait() { run(11 * kMinute); }
  [[nodiscard]] std::string form_of(const char* id) const {
    const LogEntry* const entry = log.find("brimwatch/mine/notice/" + std::string(id));
    if (entry == nullptr) return "none";
    return entry->value.substr(entry->value.find("\"v\":"), 5);
  }
  Machine newer{"newer", log, time, kMinute, false, 2};  // of a program to come
};

TEST_F(Forms, the_oldest_members_is_written) {
  Machine older("older", log, time, kMinute, false, 1);
  wait();
  ASSERT_EQ(newer.role(), Role::speaking);
  newer.say("n1");
  run(kSecond);
  EXPECT_EQ(form_of("n1"), "\"v\":1");
  EXPECT_THAT(older.heard, ElementsAre("n1"));
}

TEST_F(Forms, one_that_is_away_for_a_while_can_still_read_and_lead) {
  auto older = std::make_unique<Machine>("older", log, time, kMinute, false, 1);
  wait();
  older->die(), older.reset();
  run(9 * kMinute);
  newer.say("n1");
  older = std::make_unique<Machine>("older", log, time, kMinute, false, 1);
  run(20 * kSecond);
  EXPECT_EQ(form_of("n1"), "\"v\":1");
  newer.die();
  run(5 * kSecond);
  EXPECT_EQ(older->role(), Role::speaking);
}

TEST_F(Forms, once_it_has_left_the_newer_one_is_written_and_it_does_not_lead_again) {
  auto older = std::make_unique<Machine>("older", log, time, kMinute, false, 1);
  run(kMinute);
  older->die(), older.reset();
  wait();
  newer.say("n1");
  run(kSecond);
  EXPECT_EQ(form_of("n1"), "\"v\":2");
  older = std::make_unique<Machine>("older", log, time, kMinute, false, 1);
  run(10 * kSecond);
  newer.say("n2");
  run(kSecond);
  EXPECT_EQ(form_of("n2"), "\"v\":1") << "what it is told from now on, it can read";
  newer.die();
  run(20 * kSecond);
  EXPECT_EQ(older->role(), Role::standing_by);
  EXPECT_THAT(older->keeper->row().trouble, HasSubstr("found version 2, this program reads up to 1; update it"));
}

/// One that has only begun, or has slept, does not know who was there before.
TEST_F(Forms, one_that_has_not_looked_for_long_writes_the_oldest_of_all) {
  run(9 * kMinute);
  newer.say("n1");
  run(3 * kMinute);
  newer.say("n2");
  newer.runs = false;
  run(20 * kSecond);
  newer.runs = true;
  run(5 * kSecond);
  newer.say("n3");
  run(kSecond);
  EXPECT_EQ(form_of("n1"), "\"v\":1");
  EXPECT_EQ(form_of("n2"), "\"v\":2");
  EXPECT_EQ(form_of("n3"), "\"v\":1");
}

TEST_F(Forms, what_it_wrote_itself_in_the_newer_form_it_finds_again) {
  wait();
  int lost = 0;
  newer.link.fate = [&](const LogRequest& request) {
    return request.conditions.size() == 2 && lost++ == 0 ? FakeLink::Fate::lost_after : FakeLink::Fate::arrives;
  };
  newer.say("n1");
  run(3 * kSecond);
  EXPECT_EQ(form_of("n1"), "\"v\":2");
  EXPECT_EQ(lost, 2);
  EXPECT_THAT(newer.told, ElementsAre("n1"));
}

}  // namespace
}  // namespace brimwatch
