// What a machine told without the log, on its way there.
#include "voices.h"

namespace brimwatch {
namespace {

using test::Voices;
using testing::Contains;
using testing::ElementsAre;

DeliveryState state_in(const test::FakeLog& log, const std::string& id) {
  const LogEntry* const entry = log.find("brimwatch/mine/delivery/" + id + "/mail");
  return entry == nullptr ? DeliveryState::dead : delivery_from(entry->value, kSharedFormat)->row.state;
}

TEST_F(Voices, one_that_let_go_of_what_it_told_without_the_log_takes_it_up_when_it_leads_again) {
  begin();
  cloud.die();
  log.set_full(true);
  home.say("n1");
  run(kSecond);
  ASSERT_THAT(home.told, ElementsAre("n1"));
  home.runs = false;  // and its lease ends: it stands by, and what it had in hand is the next one's
  run(5 * kSecond);
  home.runs = true;
  run(kSecond);
  ASSERT_FALSE(home.speaks);
  log.set_full(false);
  run(10 * kSecond);
  ASSERT_TRUE(home.speaks);
  EXPECT_EQ(state_in(log, "n1"), DeliveryState::pending);
  EXPECT_THAT(home.taken_up, Contains("n1 pending"));
}

TEST_F(Voices, what_two_have_told_and_one_has_brought_is_not_open_in_the_log) {
  begin();
  cloud.die();
  home.link.cut = true;
  run(10 * kSecond);
  home.say("n1");
  home.note("n1", DeliveryState::delivered);
  upload_of_another("n1", {});
  run(kSecond);
  ASSERT_EQ(state_in(log, "n1"), DeliveryState::pending);
  home.link.cut = false;
  run(20 * kSecond);
  ASSERT_EQ(home.role(), Role::speaking);
  EXPECT_EQ(state_in(log, "n1"), DeliveryState::delivered);
}

/// Of a standby that was cut off, and reads something old when it can: it is not taken back behind what it has heard.
TEST_F(Voices, an_older_state_from_the_log_does_not_replace_what_a_standby_has_heard) {
  begin();
  home.change(Side::under, 0, time.truth());
  run(kSecond);
  cloud.adopted.clear();
  cloud.link.cut = true;
  home.change(Side::under, 0, time.truth());
  run(kSecond);
  cloud.say("n1", Side::inside, 1, time.truth());
  run(kSecond);
  home.die();
  cloud.link.cut = false;
  run(5 * kSecond);
  ASSERT_EQ(cloud.role(), Role::speaking);
  EXPECT_THAT(cloud.told, ElementsAre("n1"));
  EXPECT_TRUE(std::all_of(cloud.adopted.begin(), cloud.adopted.end(),
                          [](const WatchState& state) { return state.side == Side::inside; }));
  EXPECT_EQ(watch_in_log().side, Side::inside);
}

}  // namespace
}  // namespace brimwatch
