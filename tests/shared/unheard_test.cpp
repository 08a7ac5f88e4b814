// What one machine hears and the one that speaks does not.
#include "voices.h"

namespace brimwatch {
namespace {

using test::Machine;
using test::Voices;
using testing::Contains;
using testing::ElementsAre;
using testing::IsEmpty;

TEST_F(Voices, one_that_hears_nothing_hands_over_to_one_that_is_well) {
  begin();
  home.well = false;
  run(4 * kSecond);
  EXPECT_EQ(home.role(), Role::speaking) << "it may hear again";
  run(4 * kSecond);
  EXPECT_EQ(cloud.role(), Role::speaking);
  EXPECT_THAT(cloud.takeovers, ElementsAre("home/hears no quotes and handed over"));
  EXPECT_THAT(home.log, Contains("shared: this machine hears no quotes; another, that is well, is to speak"));
  home.well = true;
  run(kMinute);
  EXPECT_EQ(cloud.role(), Role::speaking) << "it is not given back";
}

TEST_F(Voices, where_no_other_is_well_one_that_hears_nothing_goes_on_speaking) {
  begin();
  home.well = cloud.well = false;
  run(kMinute);
  EXPECT_EQ(home.role(), Role::speaking);
  cloud.well = true;
  run(kSecond);
  EXPECT_EQ(cloud.role(), Role::speaking);
}

TEST_F(Voices, one_whose_feed_begins_at_a_takeover_is_handed_nothing_for_it) {
  cloud.feed = "at-takeover";
  begin();
  home.well = false;
  run(kMinute);
  EXPECT_EQ(home.role(), Role::speaking);
}

/// That cannot lead, for one reason or another: it is tried once in a while, and not all the time.
TEST_F(Voices, one_that_does_not_take_over_is_not_handed_it_again_and_again) {
  begin();
  cloud.link.fate = [](const LogRequest& request) {
    const bool campaigns = request.conditions.size() == 1 && request.conditions[0].created == 0;
    return campaigns ? test::FakeLink::Fate::lost_before : test::FakeLink::Fate::arrives;
  };
  home.well = false;
  run(5 * kMinute);
  EXPECT_EQ(home.role(), Role::speaking);
  EXPECT_EQ(std::count(home.log.begin(), home.log.end(), "shared: this machine speaks"), 2);
}

TEST_F(Voices, what_happened_while_the_one_before_heard_nothing_is_told_by_the_one_after) {
  begin();
  home.well = false, home.unheard = 30 * kSecond;
  cloud.say("n1", Side::inside, 1, time.truth());
  run(8 * kSecond);
  ASSERT_EQ(cloud.role(), Role::speaking);
  EXPECT_THAT(cloud.told, ElementsAre("n1"));
  EXPECT_EQ(watch_in_log().side, Side::inside);
}

TEST_F(Voices, what_the_one_that_speaks_has_not_heard_it_is_told_by_the_others) {
  begin();
  home.change(Side::under, 0, time.truth());
  run(kSecond);
  cloud.say("n1", Side::inside, 1, time.truth());
  run(9 * kSecond);
  EXPECT_THAT(home.heard, IsEmpty());
  run(5 * kSecond);
  EXPECT_THAT(home.taken_up, Contains("n1 pending"));
  EXPECT_THAT(home.taken_up_texts,
              Contains("text\n          Only cloud has heard this; another machine may tell this too."));
  EXPECT_EQ(watch_in_log().side, Side::inside);
  EXPECT_THAT(cloud.told, IsEmpty());
}

TEST_F(Voices, what_the_one_that_speaks_tells_as_well_is_not_brought) {
  begin();
  cloud.say("n1", Side::inside, 1, time.truth());
  run(5 * kSecond);
  home.say("n1", Side::inside, 1, time.truth());
  run(20 * kSecond);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_THAT(home.heard, IsEmpty());
}

/// One that was cut off, and the only one to have heard it while the one that speaks was gone for a moment.
TEST_F(Voices, what_one_without_the_log_has_heard_is_told_when_it_reads_it_again) {
  begin();
  home.change(Side::under, 0, time.truth());
  run(kSecond);
  cloud.link.cut = true;
  cloud.say("n1", Side::inside, 1, time.truth());
  run(40 * kSecond);
  ASSERT_EQ(cloud.role(), Role::standing_by);
  cloud.link.cut = false;
  run(10 * kSecond);
  EXPECT_THAT(home.taken_up, Contains("n1 pending"));
}

/// Seven seconds before: too early for the silence, too late to have been asked after.
TEST_F(Voices, what_was_heard_shortly_before_the_silence_and_not_by_the_one_before_is_told) {
  begin();
  home.change(Side::under, 0, time.truth());
  run(kSecond);
  cloud.say("n1", Side::inside, 1, time.truth());
  run(7 * kSecond);
  home.die();
  run(5 * kSecond);
  ASSERT_EQ(cloud.role(), Role::speaking);
  EXPECT_THAT(cloud.told, ElementsAre("n1"));
  EXPECT_THAT(cloud.texts, ElementsAre(testing::HasSubstr("Only cloud has heard this")));
}

}  // namespace
}  // namespace brimwatch
