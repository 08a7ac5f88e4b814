// Several machines on one log, in virtual time: who speaks, what each of them tells, and what is in the log.
#include "voices.h"

namespace brimwatch {
namespace {

using test::FakeLink;
using test::kTick;
using test::Machine;
using test::Voices;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

TEST_F(Voices, one_of_two_speaks) {
  run(2 * kSecond);
  EXPECT_NE(home.speaks, cloud.speaks);
  EXPECT_NE(home.may_speak(), cloud.may_speak());
  EXPECT_THAT(home.takeovers, IsEmpty());
  EXPECT_THAT(cloud.takeovers, IsEmpty());
}

TEST_F(Voices, what_one_tells_the_other_keeps_and_does_not_tell) {
  begin();
  cloud.say("2026-11-25/KLVN/48.35/crossed/1");
  home.say("2026-11-25/KLVN/48.35/crossed/1");
  run(kSecond);
  EXPECT_THAT(home.told, ElementsAre("2026-11-25/KLVN/48.35/crossed/1"));
  EXPECT_THAT(cloud.told, IsEmpty());
  EXPECT_THAT(cloud.heard, ElementsAre("2026-11-25/KLVN/48.35/crossed/1"));
  EXPECT_THAT(cloud.local.notices, ElementsAre("2026-11-25/KLVN/48.35/crossed/1"));
  EXPECT_EQ(cloud.keeper->shared_counters().told_by_others, 1U);
  ASSERT_THAT(cloud.adopted, SizeIs(1));
  EXPECT_EQ(cloud.adopted[0].side, Side::inside);
  EXPECT_NE(log.find("brimwatch/mine/delivery/2026-11-25/KLVN/48.35/crossed/1/mail"), nullptr);
}

TEST_F(Voices, a_standby_takes_over_what_a_dead_one_left_within_its_time) {
  begin();
  home.say("n1");
  run(kSecond);
  home.die();
  cloud.say("n2");  // in the time in which nobody speaks
  const Timestamp died = time.truth();
  while (!cloud.may_speak() && time.truth() < died + kMinute) run(kTick);
  EXPECT_LE(time.truth() - died, 2'500'000'000);
  run(kSecond);
  EXPECT_THAT(cloud.taken_up, ElementsAre("n1 pending"));
  EXPECT_THAT(cloud.told, ElementsAre("n2"));
  EXPECT_THAT(cloud.takeovers, ElementsAre("home/"));
}

/// Killed and begun again within its own lease: what the other heard meanwhile nobody else has heard.
TEST_F(Voices, one_that_begins_anew_leaves_it_to_one_that_has_stood_by) {
  begin();
  home.die();
  cloud.say("n1");
  run(kSecond);
  Machine anew("home", log, time);
  cloud.link.delay = kSecond / 5;  // a little late, so that the new one would be the first
  run(4 * kSecond);
  EXPECT_EQ(cloud.role(), Role::speaking);
  EXPECT_THAT(cloud.told, ElementsAre("n1"));
  EXPECT_EQ(anew.role(), Role::standing_by);
  cloud.die();
  run(5 * kSecond);
  EXPECT_EQ(anew.role(), Role::speaking);
}

TEST_F(Voices, what_a_standby_saw_long_ago_and_nobody_told_is_the_speakers_business_where_it_has_heard_more) {
  begin();
  const Timestamp then = time.truth();
  cloud.say("n1", Side::over, 3, then);
  home.change(Side::under, 2, then + kSecond);
  run(kMinute);
  home.die();
  run(10 * kSecond);
  EXPECT_THAT(cloud.told, IsEmpty());
  EXPECT_EQ(cloud.keeper->shared_counters().dropped, 1U);
}

TEST_F(Voices, sides_and_counts_of_the_speaker_replace_the_standbys) {
  begin();
  home.say("n1", Side::inside, 1);
  run(kSecond);
  cloud.adopted.clear();
  cloud.say("n9", Side::over, 9);  // its own feed says otherwise
  run(kMinute);
  home.die();
  run(10 * kSecond);
  ASSERT_THAT(cloud.adopted, SizeIs(1));
  EXPECT_EQ(cloud.adopted[0].side, Side::inside);
  EXPECT_EQ(cloud.adopted[0].counts[0], 1);
}

/// The one that spoke was alone, and could not write what came of the watch.
TEST_F(Voices, a_log_that_was_away_is_behind_and_takes_nothing_back) {
  home.open_door(), cloud.open_door();
  begin();
  const Timestamp open = time.truth();
  for (Machine* one : {&home, &cloud}) one->say("n1", Side::inside, 1, open);
  run(kSecond);
  home.link.cut = cloud.link.cut = true;
  run(10 * kSecond);
  ASSERT_EQ(home.role(), Role::alone);
  for (Machine* one : {&home, &cloud}) one->say("n2", Side::under, 2, open + 11 * kSecond);
  run(20 * kSecond);
  cloud.adopted.clear();
  cloud.link.cut = false;
  run(10 * kSecond);
  ASSERT_EQ(cloud.role(), Role::speaking);
  EXPECT_THAT(cloud.adopted, IsEmpty());
  EXPECT_EQ(cloud.keeper->voice().view().watches().begin()->second.side, Side::under);
  EXPECT_THAT(cloud.told, IsEmpty()) << "home has told it";
}

TEST_F(Voices, the_journal_of_one_that_begins_may_know_more_than_the_log_or_less) {
  begin();
  const Timestamp open = time.truth();
  home.say("n1", Side::inside, 1, open);
  run(kSecond);
  home.die(), cloud.die();
  run(10 * kSecond);
  Machine behind("behind", log, time);
  behind.keeper->remember({.watches = {Machine::watch(Side::over, 1, open - kSecond)}});
  run(5 * kSecond);
  ASSERT_EQ(behind.role(), Role::speaking);
  ASSERT_THAT(behind.adopted, testing::Not(IsEmpty()));
  EXPECT_EQ(behind.adopted.back().side, Side::inside);
  behind.die();
  Machine ahead("ahead", log, time);
  ahead.keeper->remember({.watches = {Machine::watch(Side::under, 1, open + kSecond)}});
  ahead.adopted.clear();
  run(10 * kSecond);
  ASSERT_EQ(ahead.role(), Role::speaking);
  EXPECT_THAT(ahead.adopted, IsEmpty());
  EXPECT_EQ(ahead.keeper->voice().view().watches().begin()->second.side, Side::under);
}

TEST_F(Voices, one_whose_feed_begins_at_a_takeover_keeps_the_watch_of_what_it_tells) {
  Machine desk("desk", log, time, kMinute, true);
  cloud.die(), desk.runs = false;
  run(kSecond);
  desk.runs = true;
  home.say("n1", Side::inside, 1, time.truth());
  run(10 * kSecond);
  ASSERT_EQ(home.role(), Role::speaking);
  home.die();
  desk.adopted.clear();
  desk.say("n2", Side::over, 2, time.truth());
  run(10 * kSecond);
  ASSERT_THAT(desk.told, ElementsAre("n2"));
  EXPECT_THAT(desk.adopted, IsEmpty());
  EXPECT_EQ(desk.keeper->voice().view().watches().begin()->second.side, Side::over);
}

TEST_F(Voices, what_it_says_again_under_one_id_is_not_open_again) {
  begin();
  home.say("n1");
  run(kSecond);
  home.note("n1", DeliveryState::delivered);
  run(2 * kSecond);
  home.say("n1");
  run(2 * kSecond);
  EXPECT_THAT(home.keeper->voice().view().open_deliveries(), IsEmpty());
  EXPECT_THAT(home.told, ElementsAre("n1"));
}

TEST_F(Voices, one_that_stood_still_says_nothing_after_it_wakes) {
  begin();
  home.runs = false;  // stopped: no beat; its clock goes on
  run(5 * kSecond);
  EXPECT_FALSE(home.may_speak());
  EXPECT_TRUE(cloud.speaks);
  home.say("n1");
  home.runs = true;
  run(3 * kSecond);
  EXPECT_FALSE(home.may_speak());
  EXPECT_THAT(home.told, IsEmpty());
  EXPECT_EQ(home.role(), Role::standing_by);
}

TEST_F(Voices, never_do_two_have_the_right_at_once_while_the_log_decides) {
  begin();
  for (int round = 0; round < 20; ++round) {
    Machine& speaks = home.speaks ? home : cloud;
    speaks.runs = false;
    for (Nanos t = 0; t < 5 * kSecond; t += kTick) {
      run(kTick);
      ASSERT_FALSE(home.may_speak() && cloud.may_speak()) << "round " << round;
    }
    speaks.runs = true;
    run(kSecond);
  }
}

TEST_F(Voices, one_that_is_cut_off_speaks_alone_and_says_so_and_uploads_later) {
  begin();
  cloud.die();
  home.link.cut = true;
  home.say("n1");
  run(3 * kSecond);
  EXPECT_THAT(home.told, IsEmpty()) << "nobody knows yet who speaks";
  run(5 * kSecond);
  EXPECT_EQ(home.role(), Role::alone);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_THAT(home.texts, ElementsAre(HasSubstr("home speaks alone; another machine may tell this too.")));
  EXPECT_EQ(log.find("brimwatch/mine/notice/n1"), nullptr);
  home.link.cut = false;
  run(10 * kSecond);
  EXPECT_EQ(home.role(), Role::speaking);
  ASSERT_NE(log.find("brimwatch/mine/notice/n1"), nullptr);
  EXPECT_THAT(log.find("brimwatch/mine/notice/n1")->value, testing::Not(HasSubstr("speaks alone")));
  EXPECT_EQ(home.keeper->shared_counters().uploaded, 1U);
}

TEST_F(Voices, what_nobody_told_is_told_also_where_an_election_of_the_log_itself_kept_the_lease_alive) {
  begin();
  run(10 * kSecond);
  home.die();  // with the log's leader
  cloud.link.cut = true;
  cloud.say("n1");
  log.hold_leases(true);
  run(3 * kSecond);
  log.advance(time.steady());
  log.elect();
  log.hold_leases(false);
  cloud.link.cut = false;
  run(10 * kSecond);
  EXPECT_EQ(cloud.role(), Role::speaking);
  EXPECT_THAT(cloud.told, ElementsAre("n1"));
}

TEST_F(Voices, what_was_told_alone_is_the_logs_again_when_it_leads) {
  begin();
  home.say("n1");
  run(kSecond);
  home.note("n1", DeliveryState::sending);
  run(kSecond);
  cloud.die();
  home.link.cut = true;
  run(10 * kSecond);
  ASSERT_EQ(home.role(), Role::alone);
  home.note("n1", DeliveryState::delivered, 2);
  run(kSecond);
  home.link.cut = false;
  run(20 * kSecond);
  EXPECT_EQ(home.role(), Role::speaking);
  EXPECT_THAT(log.find("brimwatch/mine/delivery/n1/mail")->value, HasSubstr("\"delivered\""));
}

TEST_F(Voices, a_watch_that_is_armed_again_in_the_silence_stays_so) {
  const auto armed = [](bool is) {
    JournalBatch batch;
    WatchState state;
    state.symbol = "KLVN", state.pivot = Price{48'350'000}, state.side = Side::under, state.counts[0] = 1,
    state.armed = is;
    batch.watches.push_back(state);
    return batch;
  };
  begin();
  home.keeper->submit(armed(false), {});
  run(kSecond);
  home.die();
  cloud.keeper->submit(armed(true), {});
  run(5 * kSecond);
  ASSERT_EQ(cloud.role(), Role::speaking);
  const auto& known = cloud.keeper->voice().view().watches();
  EXPECT_TRUE(known.at({"KLVN", Price{48'350'000}}).armed);
}

TEST_F(Voices, of_two_events_with_one_number_the_later_gets_the_next) {
  const Timestamp ten = time.truth();
  begin();
  home.say("d/KLVN/48.35/crossed/1", Side::inside, 1, ten);
  home.say("d/KLVN/48.35/crossed/2", Side::inside, 2, ten + kMinute);
  run(kSecond);
  home.die();
  run(5 * kSecond);
  ASSERT_EQ(cloud.role(), Role::speaking);
  cloud.say("d/KLVN/48.35/crossed/1", Side::inside, 1, ten + 2 * kSecond);  // the same, by another feed
  cloud.say("d/KLVN/48.35/crossed/1", Side::inside, 1, ten + 5 * kMinute);
  run(kSecond);
  EXPECT_THAT(cloud.told, ElementsAre("d/KLVN/48.35/crossed/3"));
  EXPECT_NE(log.find("brimwatch/mine/delivery/d/KLVN/48.35/crossed/3/mail"), nullptr);
}

TEST_F(Voices, what_is_open_and_said_alone_says_that_another_may_tell_it_too) {
  begin();
  home.say("n1");
  run(kSecond / 2);
  home.link.cut = true;  // and cloud takes its delivery up
  run(10 * kSecond);
  EXPECT_EQ(home.role(), Role::alone);
  EXPECT_THAT(cloud.taken_up_texts, ElementsAre("text"));
  EXPECT_THAT(home.taken_up_texts, ElementsAre("text\n          home speaks alone; another machine may tell this too."));
}

TEST_F(Voices, a_standby_without_the_log_waits_before_it_speaks) {
  begin();
  home.die();
  cloud.link.cut = true;
  run(58 * kSecond);
  EXPECT_EQ(cloud.role(), Role::standing_by);
  cloud.say("n1");
  run(5 * kSecond);
  EXPECT_EQ(cloud.role(), Role::alone);
  EXPECT_THAT(cloud.told, ElementsAre("n1"));
}

TEST_F(Voices, a_machine_that_slept_does_not_think_the_log_was_away) {
  begin();
  cloud.runs = false;
  run(10 * kMinute);
  cloud.runs = true;
  run(kSecond);
  EXPECT_EQ(cloud.role(), Role::standing_by);
}

TEST_F(Voices, hands_over_in_well_under_a_second_and_leaves_it_to_the_other) {
  begin();
  bool done = false;
  home.keeper->voice().step_down("handed over", [&](const std::string& trouble) { done = trouble.empty(); });
  EXPECT_FALSE(home.may_speak());
  run(kSecond / 2);
  EXPECT_TRUE(done);
  EXPECT_TRUE(cloud.may_speak());
  EXPECT_THAT(cloud.takeovers, ElementsAre("home/handed over"));
  run(kMinute);
  EXPECT_EQ(home.role(), Role::standing_by);
}

TEST_F(Voices, one_that_ends_leaves_at_once) {
  begin();
  bool left = false;
  home.keeper->voice().leave([&] { left = true; });
  run(kSecond / 2);
  EXPECT_TRUE(left);
  EXPECT_TRUE(cloud.may_speak());
  EXPECT_THAT(cloud.takeovers, ElementsAre("home/ended"));
  EXPECT_EQ(log.find("brimwatch/mine/member/home"), nullptr);
}

TEST_F(Voices, a_log_without_room_does_not_silence_who_speaks) {
  begin();
  log.set_full(true);
  home.say("n1");
  run(30 * kSecond);
  EXPECT_EQ(home.role(), Role::speaking);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_THAT(home.texts, ElementsAre(HasSubstr("speaks alone")));
  log.set_full(false);
  run(30 * kSecond);
  EXPECT_NE(log.find("brimwatch/mine/notice/n1"), nullptr);
}

TEST_F(Voices, that_the_log_takes_nothing_is_said_once_though_it_can_be_read) {
  begin();
  log.set_full(true);
  home.runs = cloud.runs = false;
  run(5 * kSecond);
  home.runs = cloud.runs = true;
  home.log.clear();
  run(20 * kSecond);
  EXPECT_EQ(std::count_if(home.log.begin(), home.log.end(),
                          [](const std::string& line) { return line.starts_with("shared: etcd "); }),
            1);
  log.set_full(false);
  home.log.clear();
  run(20 * kSecond);
  EXPECT_THAT(home.log, Contains("shared: etcd answers"));
}

/// Nobody could take over: whoever leads would be written there too.
TEST_F(Voices, where_the_log_has_no_room_nothing_is_handed_over) {
  begin();
  log.set_full(true);
  std::string trouble;
  home.keeper->voice().step_down("handed over", [&](const std::string& words) { trouble = words; });
  run(kSecond);
  EXPECT_THAT(trouble, HasSubstr("space exceeded: no other could take over; this machine goes on speaking"));
  EXPECT_TRUE(home.may_speak());
  EXPECT_FALSE(cloud.speaks);
}

TEST_F(Voices, where_the_log_has_no_room_for_a_leader_a_standby_speaks_alone_and_leads_when_it_has) {
  begin();
  log.set_full(true);
  home.die();
  run(4 * kSecond);
  cloud.say("n1");
  run(56 * kSecond);
  EXPECT_FALSE(cloud.speaks);
  run(6 * kSecond);
  EXPECT_EQ(cloud.role(), Role::alone);
  EXPECT_THAT(cloud.told, ElementsAre("n1"));
  EXPECT_THAT(cloud.texts, ElementsAre(HasSubstr("speaks alone")));
  EXPECT_THAT(cloud.log, Contains(HasSubstr("space exceeded for 60 s, and nobody says that it speaks")));
  log.set_full(false);
  run(10 * kSecond);
  EXPECT_EQ(cloud.role(), Role::speaking);
  EXPECT_NE(log.find("brimwatch/mine/notice/n1"), nullptr);
}

/// The same for one that starts on it, and for a log that has had room meanwhile, if only for others.
TEST_F(Voices, a_log_without_room_that_somebody_leads_is_no_reason_to_speak) {
  cloud.runs = false;
  run(kSecond);
  log.set_full(true);
  cloud.runs = true;
  run(3 * kMinute);
  EXPECT_EQ(cloud.role(), Role::standing_by);
  home.die();
  run(70 * kSecond);
  EXPECT_EQ(cloud.role(), Role::alone);
}

TEST_F(Voices, what_a_full_log_refused_takes_nothing_newer_back) {
  const auto in_log = [&](const char* id) {
    return log.find("brimwatch/mine/delivery/" + std::string(id) + "/mail")->value;
  };
  begin();
  home.say("n1");
  run(kSecond);
  log.set_full(true);
  home.note("n1", DeliveryState::sending);
  home.say("n2");
  home.note("n2", DeliveryState::sending);
  run(kSecond);
  log.set_full(false);
  for (const char* const id : {"n1", "n2"}) home.note(id, DeliveryState::delivered);
  run(30 * kSecond);
  for (const char* const id : {"n1", "n2"}) EXPECT_THAT(in_log(id), HasSubstr("\"delivered\"")) << id;
}

TEST_F(Voices, what_was_owed_is_the_next_ones_who_has_gone_on_with_it) {
  begin();
  home.say("n1");
  run(kSecond);
  log.set_full(true);
  home.note("n1", DeliveryState::sending);
  run(kSecond);
  home.keeper->voice().step_down("handed over", [](const std::string&) {});
  log.set_full(false);
  run(5 * kSecond);
  ASSERT_EQ(cloud.role(), Role::speaking);
  cloud.note("n1", DeliveryState::delivered, 2);
  run(kSecond);
  cloud.keeper->voice().step_down("handed over", [](const std::string&) {});
  run(kMinute);
  ASSERT_EQ(home.role(), Role::speaking);
  EXPECT_THAT(log.find("brimwatch/mine/delivery/n1/mail")->value, HasSubstr("\"delivered\""));
}

/// A watch that changes without a word, while there is no room: another has no other way to know.
TEST_F(Voices, a_watch_that_a_full_log_refused_is_in_it_once_there_is_room) {
  begin();
  home.say("n1", Side::inside, 1, time.truth());
  run(kSecond);
  log.set_full(true);
  home.change(Side::over, 1, time.truth());
  run(20 * kSecond);  // several times in vain
  log.set_full(false);
  run(6 * kSecond);
  EXPECT_EQ(watch_in_log().side, Side::over);
  const auto refusals = std::count_if(home.log.begin(), home.log.end(), [](const std::string& line) {
    return line.find("is kept here") != std::string::npos;
  });
  EXPECT_EQ(refusals, 1) << "said once";
  EXPECT_THAT(home.log, Contains(HasSubstr("etcd takes what is written again")));
}

/// The answer to what is paid is awaited when the log goes away.
TEST_F(Voices, a_watch_that_was_refused_is_not_forgotten_when_the_log_goes_away_while_it_is_put_in_again) {
  begin();
  home.say("n1", Side::inside, 1, time.truth());
  run(kSecond);
  log.set_full(true);
  home.change(Side::over, 1, time.truth());
  run(kSecond);
  cloud.die();
  home.link.fate = [&](const LogRequest& request) {
    const bool pays = !request.writes.empty() && request.writes[0].key.find("/watch/") != std::string::npos;
    if (pays) home.link.cut = true;
    return pays ? FakeLink::Fate::lost_before : FakeLink::Fate::arrives;
  };
  log.set_full(false);
  run(20 * kSecond);
  ASSERT_EQ(home.role(), Role::alone);
  home.link.fate = {}, home.link.cut = false;
  run(20 * kSecond);
  ASSERT_EQ(home.role(), Role::speaking);
  EXPECT_EQ(watch_in_log().side, Side::over);
}

TEST_F(Voices, days_of_stocks_that_a_full_log_refused_are_in_it_once_there_is_room) {
  cloud.feed = "at-takeover";
  begin();
  log.set_full(true);
  JournalBatch batch;
  batch.symbols.push_back({});
  batch.symbols.back().symbol = "KLVN";
  home.keeper->submit(batch, {});
  run(2 * kMinute);
  EXPECT_EQ(log.find("brimwatch/mine/state/KLVN"), nullptr);
  log.set_full(false);
  run(70 * kSecond);
  EXPECT_NE(log.find("brimwatch/mine/state/KLVN"), nullptr);
}

/// Of a notice that another has uploaded; the watch as it stands after it goes there all the same, and at once.
TEST_F(Voices, of_a_notice_that_is_there_already_the_newer_state_of_its_watch_holds) {
  begin();
  const Timestamp open = time.truth();
  home.say("n1", Side::inside, 1, open);
  run(kSecond);
  upload_of_another("n2", open + kSecond);
  home.say("n2", Side::under, 2, open + kSecond);
  run(kSecond);
  EXPECT_THAT(home.told, ElementsAre("n1"));
  EXPECT_EQ(watch_in_log().side, Side::under);
  EXPECT_THAT(home.adopted, IsEmpty());
  upload_of_another("n3", open);
  home.say("n3", Side::over, 3, open);  // by what it heard before
  run(kSecond);
  EXPECT_EQ(watch_in_log().side, Side::under);
  ASSERT_THAT(home.adopted, SizeIs(1));
  EXPECT_EQ(home.adopted[0].side, Side::under);
}

/// Alone before it had read a word of the log; then the log answers, and nobody leads it.
TEST_F(Voices, one_that_was_alone_before_it_had_read_the_log_takes_over_the_states_of_watches_it_knows_nothing_of) {
  begin();
  home.say("n1", Side::inside, 1, time.truth());
  run(kSecond);
  home.die(), cloud.die();
  Machine desk("desk", log, time);
  desk.link.cut = true;
  run(70 * kSecond);
  ASSERT_EQ(desk.role(), Role::alone);
  desk.link.cut = false;
  run(5 * kSecond);
  ASSERT_EQ(desk.role(), Role::speaking);
  ASSERT_THAT(desk.adopted, SizeIs(1));
  EXPECT_EQ(desk.adopted[0].side, Side::inside);
}

TEST_F(Voices, what_it_has_heard_itself_while_it_was_alone_stays) {
  begin();
  const Timestamp open = time.truth();
  home.say("n1", Side::inside, 1, open);
  run(kSecond);
  home.die(), cloud.die();
  Machine desk("desk", log, time);
  desk.link.cut = true;
  run(70 * kSecond);
  desk.change(Side::under, 1, open + kMinute);
  run(kSecond);
  desk.link.cut = false;
  run(5 * kSecond);
  ASSERT_EQ(desk.role(), Role::speaking);
  EXPECT_THAT(desk.adopted, IsEmpty());
  EXPECT_EQ(watch_in_log().side, Side::under);
}

/// The other has led meanwhile and changed it: who was alone takes that over when it hears of it, not at its next change.
TEST_F(Voices, one_that_was_alone_takes_over_what_the_one_that_led_meanwhile_has_changed) {
  begin();
  home.link.cut = true;
  run(10 * kSecond);
  ASSERT_EQ(home.role(), Role::alone);
  ASSERT_EQ(cloud.role(), Role::speaking);
  cloud.say("n1", Side::inside, 1, time.truth());
  run(kSecond);
  home.link.cut = false;
  run(5 * kSecond);
  ASSERT_EQ(home.role(), Role::standing_by);
  ASSERT_THAT(home.adopted, SizeIs(1));
  EXPECT_EQ(home.adopted[0].side, Side::inside);
}

/// Home has told it alone; cloud, which leads by then, has not heard the trade.
TEST_F(Voices, one_that_leads_takes_over_what_one_that_was_alone_has_heard) {
  begin();
  const Timestamp open = time.truth();
  home.change(Side::under, 0, open);
  run(kSecond);
  home.link.cut = true;
  run(10 * kSecond);
  ASSERT_EQ(home.role(), Role::alone);
  ASSERT_EQ(cloud.role(), Role::speaking);
  home.say("n1", Side::inside, 1, open + 11 * kSecond);
  run(kSecond);
  cloud.adopted.clear();
  home.link.cut = false;
  run(5 * kSecond);
  ASSERT_THAT(cloud.adopted, SizeIs(1));
  EXPECT_EQ(cloud.adopted[0].side, Side::inside);
  EXPECT_EQ(watch_in_log().side, Side::inside);
  EXPECT_THAT(cloud.told, IsEmpty());
}

TEST_F(Voices, what_one_that_was_alone_has_heard_takes_nothing_newer_back) {
  begin();
  const Timestamp open = time.truth();
  home.link.cut = true;
  run(10 * kSecond);
  home.say("n1", Side::inside, 1, open + 11 * kSecond);
  cloud.change(Side::under, 1, open + 12 * kSecond);
  run(kSecond);
  home.link.cut = false;
  run(5 * kSecond);
  EXPECT_THAT(cloud.adopted, IsEmpty());
  EXPECT_EQ(watch_in_log().side, Side::under);
}

TEST_F(Voices, acknowledgements_reach_every_machine_whoever_speaks) {
  begin();
  home.say("n1");
  run(kSecond);
  cloud.keeper->acknowledge("n1", time.truth());
  run(2 * kSecond);
  EXPECT_THAT(home.acknowledged, ElementsAre("n1"));
  EXPECT_THAT(cloud.acknowledged, IsEmpty()) << "it knows";
}

TEST_F(Voices, who_cannot_read_the_log_never_leads) {
  LogRequest request;
  request.writes.push_back({"brimwatch/mine/notice/n1", R"({"v":2})"});
  log.decide(request);
  run(5 * kSecond);
  EXPECT_FALSE(home.speaks || cloud.speaks);
  EXPECT_THAT(home.keeper->row().trouble, HasSubstr("this machine does not lead"));
}

TEST_F(Voices, a_commit_of_one_that_does_not_lead_changes_nothing) {
  begin();
  home.say("n1");
  run(kSecond);
  home.runs = false;
  run(4 * kSecond);
  ASSERT_TRUE(cloud.speaks);
  // Home has not noticed: what it writes now is refused by the log.
  home.say("n2", Side::over);
  run(kSecond / 2);
  EXPECT_EQ(log.find("brimwatch/mine/notice/n2"), nullptr);
  EXPECT_THAT(log.find("brimwatch/mine/watch/KLVN/48.35")->value, HasSubstr("\"side\":2"));
  EXPECT_EQ(home.keeper->shared_counters().fenced, 1U);
  EXPECT_EQ(home.role(), Role::standing_by);
}

TEST_F(Voices, what_is_old_goes_from_the_log) {
  LogRequest request;
  request.writes.push_back({"brimwatch/mine/ack/2026-01-02/KLVN/1/crossed/1",
                            R"({"v":1,"notice":"2026-01-02/KLVN/1/crossed/1","by":"home","at":1})"});
  log.decide(request);
  begin();
  run(kSecond);
  ASSERT_NE(log.find("brimwatch/mine/ack/2026-01-02/KLVN/1/crossed/1"), nullptr) << "the day is not known yet";
  JournalBatch batch;
  batch.day = Date::of(2026, 11, 25);
  home.keeper->submit(batch, {});
  run(kSecond);
  EXPECT_EQ(log.find("brimwatch/mine/ack/2026-01-02/KLVN/1/crossed/1"), nullptr);
}

/// Of more than a page, where the log forgets between two pages what was: it is read again, and nothing is missed.
TEST_F(Voices, a_log_that_was_compacted_meanwhile_is_read_again) {
  constexpr std::size_t kMany = 1200;
  for (std::size_t i = 0; i < kMany; ++i) {
    const std::string id = "2026-11-25/n" + std::to_string(i);
    LogRequest request;
    request.writes.push_back({"brimwatch/mine/ack/" + id, R"({"v":1,"notice":")" + id + R"(","by":"home","at":1})"});
    log.decide(request);
  }
  int compactions = 0;
  cloud.link.fate = [&](const LogRequest& request) {
    if (!request.ranges.empty() && request.ranges[0].at != 0 && compactions++ < 3) {
      LogRequest change;
      change.writes.push_back({"brimwatch/mine/list/desk", std::to_string(compactions)});
      log.decide(change), log.compact();
    }
    return FakeLink::Fate::arrives;
  };
  run(10 * kSecond);
  EXPECT_GT(compactions, 3);
  EXPECT_THAT(cloud.acknowledged, SizeIs(kMany));
}

/// Cloud cannot read what a newer home has written: it keeps what it can, says so, and does not lead when home dies.
TEST_F(Voices, an_older_one_that_cannot_read_the_newer_ones_words_does_not_take_over) {
  begin();
  LogRequest request;
  request.writes.push_back({"brimwatch/mine/notice/n1", R"({"v":2})"});
  log.decide(request);
  run(kSecond);
  home.die();
  run(20 * kSecond);
  EXPECT_EQ(cloud.role(), Role::standing_by);
  EXPECT_THAT(cloud.keeper->row().trouble, HasSubstr("found version 2, this program reads up to 1; update it"));
}

/// Only durations of one machine are compared: a clock that is an hour off moves no takeover, and is told.
TEST_F(Voices, clocks_that_are_apart_are_told_and_decide_nothing) {
  cloud.clock_off = 3'600 * kSecond;
  begin();
  run(30 * kSecond);
  ASSERT_TRUE(home.keeper->voice().clocks_off().contains("cloud"));
  EXPECT_NEAR(static_cast<double>(home.keeper->voice().clocks_off().at("cloud")) / 1e9, 3600, 2);
  EXPECT_NEAR(static_cast<double>(cloud.keeper->voice().clocks_off().at("home")) / 1e9, -3600, 2);
  home.die();
  const Timestamp died = time.truth();
  while (!cloud.may_speak() && time.truth() < died + kMinute) run(kTick);
  EXPECT_LE(time.truth() - died, 2'500'000'000);
}

TEST_F(Voices, clocks_a_second_apart_are_not_told) {
  cloud.clock_off = -kSecond;
  begin();
  run(30 * kSecond);
  EXPECT_THAT(home.keeper->voice().clocks_off(), IsEmpty());
}

TEST_F(Voices, states_are_shared_only_where_somebody_begins_with_them) {
  begin();
  JournalBatch batch;
  batch.symbols.push_back({});
  batch.symbols.back().symbol = "KLVN";
  home.keeper->submit(batch, {});
  run(2 * kMinute);
  EXPECT_EQ(log.find("brimwatch/mine/state/KLVN"), nullptr);
}

/// An empty house and a log: what costs a standby that looks five times a second.
TEST_F(Voices, asks_the_log_a_bounded_number_of_times) {
  begin();
  const std::uint64_t before = cloud.link.asked;
  run(kMinute);
  EXPECT_LE(cloud.link.asked - before, 60U * 5U + 60U * 2U);
}

}  // namespace
}  // namespace brimwatch
