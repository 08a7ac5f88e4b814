// What `channels try --sample` sends: as it would look, and never to be taken for an event of the market.
#include "commands/sample_message.h"

#include <gtest/gtest.h>

#include "core/rehearsal_mark.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

const std::chrono::sys_seconds kNow{std::chrono::seconds{1'795'621'327}};

TEST(SampleMessage, every_kind_is_marked_as_a_test_in_title_text_and_glance) {
  for (int i = 0; i < kNoticeKinds; ++i) {
    const SampleMessage made = sample_message(static_cast<NoticeKind>(i), "desk", kNow, std::chrono::hours(1));
    const NoticeRecord& record = made.message.notices.front();
    EXPECT_EQ(made.message.title.find("Test: "), 0U) << made.message.title;
    EXPECT_NE(made.message.text.find("TEST of a channel: the stock and all its figures are invented."),
              std::string::npos);
    EXPECT_EQ(glance(record).what.find("Test: "), 0U);
    EXPECT_EQ(record.id.find("test/"), 0U) << "an id that no journal has";
    EXPECT_EQ(made.picture.price.empty(), !record.notice.price.is_set());
  }
}

TEST(SampleMessage, a_crossing_is_heavy_and_inside_its_range) {
  const SampleMessage made = sample_message(NoticeKind::crossed, "desk", kNow, {});
  EXPECT_EQ(made.message.title, "Test: KLVN crossed 48.35: heavy, odds 0.94");
  const Notice& notice = made.message.notices.front().notice;
  EXPECT_EQ(notice.volume.weight, Weight::heavy);
  EXPECT_LE(notice.price, notice.range_top);
  EXPECT_NEAR(made.picture.price.back().value, 48.41, 1e-9);
  EXPECT_NEAR(made.picture.volume.back().value, notice.volume.so_far.as_double(), 1);
}

}  // namespace
}  // namespace brimwatch
