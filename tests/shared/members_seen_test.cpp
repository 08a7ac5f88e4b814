// Which form of its values a house may write, and whose clock is wrong. Seconds of this machine's clock.
#include "shared/entries/members_seen.h"

#include <gmock/gmock.h>

#include "shared/entries/own_record.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::Pair;

constexpr Timestamp kWall{1'795'600'000'000'000'000};

struct MembersSeenTest : testing::Test {
  MembersSeen seen{"home", 3, 10 * kMinute};
  std::map<std::string, SharedMember> members{{"home", {.reads = 3}}, {"cloud", {.reads = 2}}};

  void read_at(Nanos now) { seen.note(members, true, {.asked = now, .read = now, .wall = kWall + now}); }
  void read_for(Nanos from, Nanos until) {
    for (Nanos now = from; now <= until; now += 5 * kSecond) read_at(now);
  }
};

TEST_F(MembersSeenTest, who_has_not_looked_for_long_writes_the_oldest_form) {
  EXPECT_EQ(seen.format(), 1);
  read_for(kSecond, 10 * kMinute - kSecond);
  EXPECT_EQ(seen.format(), 1);
  read_for(10 * kMinute, 10 * kMinute + 5 * kSecond);
  EXPECT_EQ(seen.format(), 2);
  read_at(10 * kMinute + 30 * kSecond);
  EXPECT_EQ(seen.format(), 1) << "it was away: an older one may have come and gone";
}

TEST_F(MembersSeenTest, a_member_that_was_killed_may_come_back_for_ten_minutes) {
  read_for(kSecond, 11 * kMinute);
  members.erase("cloud");
  read_for(11 * kMinute + 5 * kSecond, 20 * kMinute);
  EXPECT_EQ(seen.format(), 2);
  read_for(20 * kMinute + 5 * kSecond, 22 * kMinute);
  EXPECT_EQ(seen.format(), 3);
}

TEST_F(MembersSeenTest, only_a_record_that_has_just_come_tells_of_a_clock) {
  members["cloud"].clock = kWall;
  read_at(kSecond);
  members["cloud"].clock = kWall + 3 * kSecond;
  read_at(3 * kSecond);
  EXPECT_THAT(seen.clocks_off(), IsEmpty()) << "the reading before is too long ago";
  members["cloud"].clock = kWall + 8 * kSecond;
  read_at(4 * kSecond);
  EXPECT_THAT(seen.clocks_off(), ElementsAre(Pair("cloud", 4 * kSecond)));
  members["cloud"].clock = kWall + 5 * kSecond;
  read_at(5 * kSecond);
  EXPECT_THAT(seen.clocks_off(), IsEmpty());
  members["cloud"].clock = kWall;
  read_at(6 * kSecond);
  EXPECT_THAT(seen.clocks_off(), ElementsAre(Pair("cloud", -6 * kSecond)));
}

struct OwnRecordTest : testing::Test {
  SharedKeys keys{"mine"};
  OwnRecord record{keys, "home", 3};
  SharedMember member{.list = "a", .rules = "r"};

  std::vector<std::string> due_at(Nanos now) {
    std::vector<std::string> written;
    const auto list = [] { return std::string("list"); };
    for (const LogWrite& one : record.due(member, list, list, {now, kWall, 7})) written.push_back(one.key);
    return written;
  }
};

TEST_F(OwnRecordTest, is_due_every_ten_seconds_and_when_it_changes) {
  EXPECT_THAT(due_at(0),
              ElementsAre("brimwatch/mine/list/home", "brimwatch/mine/rules/home", "brimwatch/mine/member/home"));
  EXPECT_THAT(due_at(9 * kSecond), IsEmpty());
  EXPECT_THAT(due_at(10 * kSecond), ElementsAre("brimwatch/mine/member/home"));
  member.well = false;
  EXPECT_THAT(due_at(11 * kSecond), ElementsAre("brimwatch/mine/member/home"));
  member.list = "b";
  EXPECT_THAT(due_at(12 * kSecond), ElementsAre("brimwatch/mine/list/home", "brimwatch/mine/member/home"));
}

TEST_F(OwnRecordTest, is_due_whole_after_no_answer_and_left_out_for_a_while_where_it_was_refused) {
  (void)due_at(0);
  record.on_no_answer(kSecond, false);
  EXPECT_TRUE(record.may_be_written(kSecond));
  EXPECT_EQ(due_at(kSecond).size(), 3U);
  record.on_no_answer(2 * kSecond, true);
  EXPECT_FALSE(record.may_be_written(11 * kSecond));
  EXPECT_TRUE(record.may_be_written(12 * kSecond));
  record.on_no_answer(20 * kSecond, true);
  record.on_new_lease(21 * kSecond);
  EXPECT_TRUE(record.may_be_written(21 * kSecond));
  EXPECT_EQ(due_at(21 * kSecond).size(), 3U);
}

}  // namespace
}  // namespace brimwatch
