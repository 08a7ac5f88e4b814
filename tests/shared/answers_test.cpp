// What people say at one of several machines: in force on all, once, in one order, whatever is lost on the way.
#include "voices.h"

namespace brimwatch {
namespace {

using test::FakeLink;
using test::Machine;
using test::Voices;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

/// A commit of an answer: the only one with one condition and a range that is not the leader's.
bool is_answer(const LogRequest& request) {
  return !request.writes.empty() && request.writes.front().key.find("/answer/") != std::string::npos;
}

TEST_F(Voices, an_answer_given_at_a_standby_is_in_force_everywhere) {
  begin();
  cloud.give("a1");
  run(2 * kSecond);
  EXPECT_THAT(cloud.replies, ElementsAre("a1"));
  EXPECT_THAT(cloud.in_force(), ElementsAre("a1"));
  EXPECT_THAT(home.in_force(), ElementsAre("a1"));
  EXPECT_EQ(home.answers.at(0).who, "phone");
  EXPECT_NE(log.find("brimwatch/mine/answer/2026-11-25/a1"), nullptr);
}

TEST_F(Voices, answers_given_at_the_same_moment_take_effect_in_one_order) {
  begin();
  cloud.link.delay = 40'000'000;
  for (int i = 0; i < 10; ++i) home.give("h" + std::to_string(i)), cloud.give("c" + std::to_string(i));
  run(5 * kSecond);
  EXPECT_EQ(home.in_force().size(), 20U);
  EXPECT_EQ(home.in_force(), cloud.in_force());
}

TEST_F(Voices, an_answer_whose_word_was_lost_takes_effect_once) {
  begin();
  int asked = 0;
  home.link.fate = [&](const LogRequest& request) {
    return is_answer(request) && asked++ == 0 ? FakeLink::Fate::lost_after : FakeLink::Fate::arrives;
  };
  home.give("a1");
  run(4 * kSecond);
  EXPECT_EQ(asked, 2);
  EXPECT_THAT(home.replies, ElementsAre("a1"));
  EXPECT_THAT(home.in_force(), ElementsAre("a1"));
  EXPECT_THAT(cloud.in_force(), ElementsAre("a1"));
}

TEST_F(Voices, without_the_log_whoever_asks_a_standby_is_told_that_nobody_knows) {
  begin();
  cloud.link.cut = true;
  cloud.give("a1");
  run(6 * kSecond);
  EXPECT_THAT(cloud.replies, ElementsAre(HasSubstr("a1: etcd has not answered for 5 s: nobody knows")));
  EXPECT_THAT(cloud.in_force(), IsEmpty());
  cloud.link.cut = false;
  run(5 * kSecond);
  EXPECT_THAT(home.in_force(), IsEmpty());
}

TEST_F(Voices, one_that_is_alone_hears_its_people_at_once_and_the_others_later) {
  begin();
  home.link.cut = true;
  run(10 * kSecond);
  ASSERT_EQ(home.role(), Role::alone);
  home.give("a1");
  EXPECT_THAT(home.replies, ElementsAre("a1"));
  EXPECT_EQ(home.keeper->row().answers_waiting, 1U);
  home.link.cut = false;
  run(10 * kSecond);
  EXPECT_THAT(cloud.in_force(), ElementsAre("a1"));
  EXPECT_EQ(home.keeper->row().answers_waiting, 0U);
}

/// Cloud's word is in the log first: on home, which gave its own meanwhile, that one takes effect anew after it.
TEST_F(Voices, what_was_given_alone_takes_its_place_behind_what_the_log_has) {
  begin();
  home.link.cut = true;
  run(10 * kSecond);
  ASSERT_EQ(home.role(), Role::alone);
  home.give("h1", "KLVN", AnswerKind::mute), home.give("h2", "ORRI", AnswerKind::mute);
  cloud.give("c1", "KLVN", AnswerKind::unmute);
  run(2 * kSecond);
  home.link.cut = false;
  run(10 * kSecond);
  EXPECT_THAT(cloud.in_force(), ElementsAre("c1", "h1", "h2"));
  EXPECT_THAT(home.in_force(), ElementsAre("h2", "c1", "h1")) << "of each stock in the same order; ORRI had one only";
}

TEST_F(Voices, what_the_journal_had_and_the_log_has_not_goes_there) {
  cloud.runs = false;
  Answer old;
  old.id = "before", old.kind = AnswerKind::bought, old.symbol = "KLVN", old.day = Date::of(2026, 11, 2);
  Answer very_old = old;
  very_old.id = "years ago", very_old.day = Date::of(2024, 1, 2);
  Answer seen = old;
  seen.id = "seen", seen.kind = AnswerKind::acknowledge;
  Answer muted = old;
  muted.id = "muted three weeks ago", muted.kind = AnswerKind::mute;
  home.keeper->answers().begin_with({very_old, old, seen, muted});
  home.answers = {very_old, old, seen, muted};
  run(kSecond);
  cloud.runs = true;
  run(5 * kSecond);
  EXPECT_THAT(cloud.in_force(), ElementsAre("before"));
}

TEST_F(Voices, a_mute_that_the_dead_one_never_heard_of_stands_after_the_takeover) {
  begin();
  home.say("n1");
  run(kSecond);
  home.die();
  cloud.give("a1");
  run(10 * kSecond);
  ASSERT_TRUE(cloud.speaks);
  EXPECT_THAT(cloud.muted_again, ElementsAre("a1"));
}

TEST_F(Voices, a_log_without_room_does_not_make_who_speaks_deaf) {
  begin();
  log.set_full(true);
  cloud.give("c1");
  home.give("h1");
  run(kSecond);
  EXPECT_THAT(cloud.replies, ElementsAre(HasSubstr("database space exceeded; nothing was changed")));
  EXPECT_THAT(home.replies, ElementsAre("h1"));
  log.set_full(false);
  run(20 * kSecond);
  EXPECT_THAT(cloud.in_force(), ElementsAre("h1"));
}

TEST_F(Voices, answers_stay_in_the_log_for_a_year_and_then_go) {
  const auto put = [&](const char* day) {
    Answer answer;
    answer.id = day, answer.day = *parse_date(day);
    LogRequest request;
    request.writes.push_back(
        {"brimwatch/mine/answer/" + std::string(day) + "/" + day, to_value(SharedAnswer{answer, "home"})});
    log.decide(request);
  };
  put("2025-06-02"), put("2026-06-01");
  begin();
  JournalBatch batch;
  batch.day = Date::of(2026, 11, 25);
  home.keeper->submit(batch, {});
  run(2 * kSecond);
  EXPECT_EQ(log.find("brimwatch/mine/answer/2025-06-02/2025-06-02"), nullptr);
  EXPECT_NE(log.find("brimwatch/mine/answer/2026-06-01/2026-06-01"), nullptr);
}

}  // namespace
}  // namespace brimwatch
