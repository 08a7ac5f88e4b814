// Two notices of one id, and the texts that say that one may come twice.
#include "shared/same_event.h"

#include <gmock/gmock.h>

#include "shared/may_come_twice.h"

namespace brimwatch {
namespace {

NoticeRecord at(Nanos time, NoticeKind kind = NoticeKind::crossed) {
  NoticeRecord record;
  record.id = "2026-11-25/KLVN/48.35/crossed/9", record.notice.kind = kind, record.notice.time = Timestamp{time};
  record.notice.count = 9;
  return record;
}

TEST(SameEvent, two_feeds_give_one_event_within_half_a_minute) {
  EXPECT_FALSE(is_another_event(at(kMinute), at(kMinute + 30 * kSecond)));
  EXPECT_TRUE(is_another_event(at(kMinute), at(kMinute + 30 * kSecond + 1)));
  EXPECT_TRUE(is_another_event(at(kMinute + 30 * kSecond + 1), at(kMinute)));
}

TEST(SameEvent, an_opening_comes_once_a_day_and_what_is_not_of_a_price_has_no_moment) {
  EXPECT_FALSE(is_another_event(at(0, NoticeKind::opened_over), at(kMinute, NoticeKind::opened_over)));
  EXPECT_FALSE(is_another_event(at(0, NoticeKind::day_end), at(kMinute, NoticeKind::day_end)));
}

TEST(SameEvent, the_next_number_is_in_the_id_and_in_the_notice) {
  const NoticeRecord next = with_next_number(at(0));
  EXPECT_EQ(next.id, "2026-11-25/KLVN/48.35/crossed/10");
  EXPECT_EQ(next.notice.count, 10);
}

TEST(MayComeTwice, is_said_once_on_a_line_of_its_own) {
  NoticeRecord record;
  record.text = "KLVN crossed 48.35";
  mark_as_alone(record, "cloud");
  mark_as_heard_alone(record, "home");
  EXPECT_EQ(record.text, "KLVN crossed 48.35\n          cloud speaks alone; another machine may tell this too.");
  std::string text = "KLVN crossed 48.35\n";
  mark_as_alone(text, "cloud");
  EXPECT_EQ(text, "KLVN crossed 48.35\n          cloud speaks alone; another machine may tell this too.\n");
}

}  // namespace
}  // namespace brimwatch
