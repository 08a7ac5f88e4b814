// What a machine that stands by has seen, and who tells it. Times are seconds of its own clock.
#include "shared/held_notices.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

constexpr Price kPivot{48'350'000};
constexpr Timestamp kTradedAt{1'795'600'000'000'000'000};

WatchState watch_at(Timestamp time) {
  WatchState state;
  state.symbol = "KLVN", state.pivot = kPivot;
  WatchPast last;
  last.by.time = time;
  state.past = pack({last});
  return state;
}

struct HeldNoticesTest : testing::Test {
  SharedView view{"mine"};
  HeldNotices held{view, "cloud", 2 * kSecond};

  void hold(const std::string& id, Nanos now, NoticeKind kind = NoticeKind::crossed) {
    NoticeRecord record;
    record.id = id, record.symbol = "KLVN", record.text = "text";
    record.notice.kind = kind, record.notice.pivot = kPivot, record.notice.time = kTradedAt;
    held.hold({record}, now);
  }
  void log_has(const std::string& id) {
    SharedNotice notice;
    notice.record.id = id;
    view.note(notice, 1);
  }
  static std::vector<std::string> ids(const std::vector<NoticeRecord>& records) {
    std::vector<std::string> ids;
    for (const NoticeRecord& one : records) ids.push_back(one.id);
    return ids;
  }
};

TEST_F(HeldNoticesTest, what_the_log_has_is_the_others_to_tell) {
  log_has("n1");
  hold("n1", 0);
  hold("n2", 0);
  held.forget("n2");
  EXPECT_THAT(held.take_unheard(kMinute), IsEmpty());
  EXPECT_EQ(held.counters().held, 2U);
  EXPECT_EQ(held.counters().told_by_others, 2U);
  EXPECT_EQ(held.counters().dropped, 0U);
}

TEST_F(HeldNoticesTest, what_the_other_has_not_heard_after_ten_seconds_says_so) {
  hold("n1", 0);
  EXPECT_THAT(held.take_unheard(10 * kSecond - 1), IsEmpty());
  const std::vector<NoticeRecord> unheard = held.take_unheard(10 * kSecond);
  ASSERT_THAT(ids(unheard), ElementsAre("n1"));
  EXPECT_THAT(unheard[0].text, HasSubstr("Only cloud has heard this; another machine may tell this too."));
  EXPECT_THAT(held.take_unheard(kMinute), IsEmpty()) << "once";
}

/// Its feed counts otherwise: the event has another id, or is none.
TEST_F(HeldNoticesTest, what_the_other_has_heard_and_judged_otherwise_is_not_told) {
  view.note(watch_at(kTradedAt), 1);
  hold("n1", 0);
  EXPECT_THAT(held.take_unheard(10 * kSecond), IsEmpty());
  EXPECT_EQ(held.counters().dropped, 1U);
  view.note(watch_at(kTradedAt - 1), 2);
  hold("n2", 0);
  EXPECT_THAT(ids(held.take_unheard(10 * kSecond)), ElementsAre("n2"));
}

TEST_F(HeldNoticesTest, what_can_wait_and_what_is_too_old_is_not_told_for_another) {
  hold("later", 0, NoticeKind::day_end);
  hold("now", 0);
  EXPECT_THAT(held.take_unheard(10 * kMinute), IsEmpty());
  EXPECT_EQ(held.counters().dropped, 2U);
}

TEST_F(HeldNoticesTest, of_the_silence_all_is_ours_to_tell) {
  hold("before", 0);
  hold("n1", kMinute);
  hold("evening", kMinute, NoticeKind::day_end);
  const std::vector<NoticeRecord> untold = held.take_untold({.silent_since = kMinute}, kMinute + 3 * kSecond);
  ASSERT_THAT(ids(untold), ElementsAre("n1", "evening"));
  EXPECT_THAT(untold[0].text, Not(HasSubstr("another machine")));
  EXPECT_EQ(held.counters().dropped, 1U);
}

/// Too early for the silence, too late for take_unheard() to have looked at it.
TEST_F(HeldNoticesTest, shortly_before_the_silence_what_nobody_heard_is_ours_unless_the_other_spoke_without_the_log) {
  hold("n1", 0);
  const std::vector<NoticeRecord> untold = held.take_untold({.silent_since = 5 * kSecond}, 9 * kSecond);
  ASSERT_THAT(ids(untold), ElementsAre("n1"));
  EXPECT_THAT(untold[0].text, HasSubstr("Only cloud has heard this"));
  hold("n2", 0);
  EXPECT_THAT(held.take_untold({.silent_since = 5 * kSecond, .spoke_alone = true}, 9 * kSecond), IsEmpty());
  hold("n3", 0);
  EXPECT_THAT(held.take_untold({.silent_since = kMinute}, kMinute), IsEmpty()) << "the other has had its time";
}

TEST_F(HeldNoticesTest, of_too_many_the_oldest_go_and_are_counted) {
  for (std::size_t n = 0; n < HeldNotices::kMost + 2; ++n) hold(std::to_string(n), 0);
  EXPECT_EQ(held.counters().dropped, 2U);
  EXPECT_EQ(ids(held.take_unheard(10 * kSecond)).front(), "2");
}

}  // namespace
}  // namespace brimwatch
