// Without the log, whether another speaks is asked of the others themselves.
#include "shared/direct.h"

#include "voices.h"

namespace brimwatch {
namespace {

using test::kTick;
using test::Machine;
using test::Voices;
using testing::ElementsAre;
using testing::HasSubstr;

struct Doors : Voices {
  Doors() { home.open_door(), cloud.open_door(); }
};

TEST_F(Doors, a_standby_that_hears_the_active_one_keeps_silent) {
  begin();
  run(15 * kSecond);  // its record is in the log
  cloud.link.cut = true;
  cloud.say("n1");
  run(5 * kMinute);
  EXPECT_EQ(cloud.role(), Role::standing_by);
  EXPECT_THAT(cloud.told, testing::IsEmpty());
  EXPECT_EQ(cloud.keeper->voice().direct().heard().at("home").role, "speaking");
}

TEST_F(Doors, with_both_ways_cut_it_speaks_after_a_minute) {
  begin();
  run(15 * kSecond);
  cloud.link.cut = cloud.direct_cut = true;
  const Timestamp cut = time.truth();
  while (cloud.role() != Role::alone && time.truth() < cut + 5 * kMinute) run(kTick);
  EXPECT_NEAR(static_cast<double>(time.truth() - cut) / 1e9, 60, 2.5);
  cloud.say("n1");
  run(kSecond);
  EXPECT_THAT(cloud.texts, ElementsAre(HasSubstr("cloud speaks alone; another machine may tell this too.")));
}

/// What the other told while it still said that it speaks is not told again when it falls silent.
TEST_F(Doors, what_it_saw_while_it_heard_the_other_speak_is_the_others_to_tell) {
  begin();
  run(15 * kSecond);
  cloud.link.cut = true;
  run(kMinute);
  home.say("n1"), cloud.say("n1");
  run(30 * kSecond);
  cloud.direct_cut = true;
  run(9 * kSecond);
  cloud.say("n2");
  run(30 * kSecond);
  ASSERT_EQ(cloud.role(), Role::alone);
  EXPECT_THAT(cloud.told, ElementsAre("n2"));
}

TEST_F(Doors, when_the_active_one_dies_later_it_speaks_ten_seconds_after_its_last_word) {
  begin();
  run(15 * kSecond);
  cloud.link.cut = true;
  run(5 * kMinute);
  home.die();
  const Timestamp died = time.truth();
  while (cloud.role() != Role::alone && time.truth() < died + kMinute) run(kTick);
  EXPECT_NEAR(static_cast<double>(time.truth() - died) / 1e9, 10, 4);
}

/// The active one is cut off from etcd, another has taken over, and says so: it does not speak alone.
TEST_F(Doors, one_that_spoke_and_hears_another_stands_by) {
  begin();
  run(15 * kSecond);
  home.link.cut = true;
  run(30 * kSecond);
  EXPECT_TRUE(cloud.may_speak());
  EXPECT_EQ(home.role(), Role::standing_by);
  home.say("n1");
  run(kSecond);
  EXPECT_THAT(home.told, testing::IsEmpty());
  home.link.cut = false;
  run(5 * kSecond);
  EXPECT_EQ(home.role(), Role::standing_by);
  EXPECT_EQ(cloud.role(), Role::speaking);
}

TEST_F(Doors, an_etcd_that_is_away_for_all_leaves_the_active_one_speaking_alone_and_the_other_silent) {
  begin();
  run(15 * kSecond);
  home.link.cut = cloud.link.cut = true;
  run(5 * kMinute);
  EXPECT_EQ(home.role(), Role::alone);
  EXPECT_EQ(cloud.role(), Role::standing_by);
}

TEST_F(Doors, nobody_keeps_silent_for_one_that_is_not_well) {
  begin();
  run(15 * kSecond);
  home.well = false;  // its feed carries nothing
  cloud.link.cut = true;
  run(70 * kSecond);
  EXPECT_EQ(cloud.role(), Role::alone);
}

TEST_F(Doors, of_two_that_wait_the_second_hears_the_first) {
  Machine desk("desk", log, time);
  desk.open_door();
  desk.runs = false;
  begin();
  desk.runs = true;
  run(15 * kSecond);
  home.die();
  cloud.link.cut = desk.link.cut = true;
  log.advance(time.steady());
  run(2 * kMinute);
  EXPECT_EQ(cloud.role(), Role::alone);
  EXPECT_EQ(desk.role(), Role::standing_by);
}

TEST_F(Doors, one_that_speaks_alone_ceases_when_it_hears_the_one_that_the_log_has_chosen) {
  begin();
  run(15 * kSecond);
  cloud.link.cut = cloud.direct_cut = true;
  run(70 * kSecond);
  ASSERT_EQ(cloud.role(), Role::alone);
  cloud.direct_cut = false;
  run(5 * kSecond);
  EXPECT_EQ(cloud.role(), Role::standing_by);
}

TEST(DirectAnswers, are_taken_only_from_the_member_that_was_meant) {
  std::map<std::string, SharedMember> members;
  members["home"].name = "home", members["home"].direct = "https://10.0.0.1:2390";
  std::string said;
  DirectQuestions questions("mine", "cloud", [&](const std::string&, const auto& then) { then(said); });
  questions.know(members);
  Nanos now = kMinute;
  const auto speaker = [&](std::string text) {
    said = std::move(text), now += kMinute;
    questions.look(now);
    return questions.speaker_since(now, false);
  };
  EXPECT_EQ(speaker(to_value(DirectAnswer{"mine", "home", "speaking"})), "home");
  EXPECT_EQ(speaker(to_value(DirectAnswer{"mine", "home", "alone"})), "home");
  EXPECT_EQ(speaker(to_value(DirectAnswer{"mine", "home", "standing by"})), "");
  EXPECT_EQ(speaker(to_value(DirectAnswer{"mine", "home", "unsure"})), "");
  EXPECT_EQ(speaker(to_value(DirectAnswer{"mine", "home", "speaking", false})), "");
  EXPECT_EQ(speaker(to_value(DirectAnswer{"theirs", "home", "speaking"})), "");
  EXPECT_EQ(speaker(to_value(DirectAnswer{"mine", "desk", "speaking"})), "");
  for (const char* text : {"", "{", "[]", "{\"house\":1}", "speaking", "{\"house\":\"mine\",\"name\":\"home\"}"})
    EXPECT_EQ(speaker(text), "") << text;
}

}  // namespace
}  // namespace brimwatch
