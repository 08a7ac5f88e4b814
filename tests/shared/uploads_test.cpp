// What a machine told without the log, on its way there.
#include "voices.h"

namespace brimwatch {
namespace {

using test::Machine;
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

NoticeRecord event(const std::string& id, Timestamp at) {
  NoticeRecord record;
  record.id = id, record.symbol = "KLVN", record.text = "text";
  record.notice.pivot = Price{48'350'000}, record.notice.time = at;
  return record;
}

/// It ended before the log heard of them: the next life brings them, and what was open is sent by whoever speaks.
TEST_F(Voices, what_it_told_alone_in_a_life_before_goes_to_the_log) {
  begin();
  const Timestamp then = time.truth() - kMinute;
  RememberedNotice open{event("2026-11-25/n/1", then), {{.notice_id = "2026-11-25/n/1", .channel = "mail"}}};
  RememberedNotice sent{event("2026-11-25/n/2", then), {{.notice_id = "2026-11-25/n/2", .channel = "mail"}}};
  sent.rows[0].state = DeliveryState::delivered, sent.rows[0].done = then;
  Machine desk("desk", log, time);
  desk.keeper->remember({.told = {open, sent}});
  run(10 * kSecond);
  ASSERT_EQ(desk.role(), Role::standing_by);
  EXPECT_EQ(state_in(log, "2026-11-25/n/2"), DeliveryState::delivered);
  EXPECT_THAT(home.taken_up, ElementsAre("2026-11-25/n/1 pending"));
}

TEST_F(Voices, another_event_of_a_number_that_waits_to_be_uploaded_gets_the_next) {
  begin();
  cloud.die();
  const Timestamp then = time.truth();
  home.link.cut = true;
  run(10 * kSecond);
  home.say("2026-11-25/n/1", Side::inside, 1, then);
  run(kSecond);
  home.link.fate = [](const LogRequest& request) {
    const bool uploads = request.conditions.size() == 1 && !request.writes.empty() && request.conditions[0].created == 0;
    return uploads && request.writes.size() > 1 ? test::FakeLink::Fate::lost_before : test::FakeLink::Fate::arrives;
  };
  home.link.cut = false;
  run(5 * kSecond);
  ASSERT_EQ(home.role(), Role::speaking);
  home.say("2026-11-25/n/1", Side::inside, 1, then + kMinute);
  home.link.fate = {};
  run(20 * kSecond);
  EXPECT_THAT(home.told, ElementsAre("2026-11-25/n/1", "2026-11-25/n/2"));
}

TEST_F(Voices, of_two_events_with_one_number_none_is_lost_to_the_log) {
  begin();
  cloud.die();
  const Timestamp then = time.truth();
  home.link.cut = true;
  run(10 * kSecond);
  home.say("2026-11-25/n/1", Side::inside, 1, then);
  home.note("2026-11-25/n/1", DeliveryState::delivered);
  upload_of_another("2026-11-25/n/1", then + kMinute);
  home.link.cut = false;
  run(20 * kSecond);
  EXPECT_EQ(state_in(log, "2026-11-25/n/2"), DeliveryState::delivered);
  EXPECT_THAT(home.told, ElementsAre("2026-11-25/n/1")) << "its own journal has it once";
  EXPECT_THAT(home.local.notices, ElementsAre("2026-11-25/n/1"));
}

}  // namespace
}  // namespace brimwatch
