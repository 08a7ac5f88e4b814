// A list that comes into force in the middle of a day, new or the same with newer past days: what goes on goes on.
#include "small_engine.h"

namespace brimwatch {
namespace {

class NewList : public SmallEngine {
 protected:
  void start(std::uint16_t confirm_seconds) {
    watch("KLVN", "50").rules.confirm_seconds = confirm_seconds;
    begin();
    give(trade("49.50"));
  }
  [[nodiscard]] std::size_t told() const { return sink_.notices.size(); }
};

// The price has reached the pivot and must stay there for ten seconds: no trade comes any more, and the clock decides.
TEST_F(NewList, ACrossingThatTheClockConfirmsIsConfirmedAllTheSame) {
  start(10);
  give(trade("50.10")), give(trade("50.10"));
  begin();
  engine_->on_time(at((seconds_ + 5) * kSecond), sink_);
  EXPECT_EQ(told(), 0U) << "not yet";
  engine_->on_time(at((seconds_ + 20) * kSecond), sink_);
  ASSERT_EQ(told(), 1U);
  EXPECT_EQ(sink_.notices[0].kind, NoticeKind::crossed);
}

// Whoever asks for less than was waited for has it at once, and not at the next trade, which may be under the pivot.
TEST_F(NewList, ACrossingThatNeedsNoConfirmationAnyMoreIsTold) {
  start(60);
  give(trade("50.10"));
  watches_[0].rules.confirm_seconds = 0;
  begin();
  give(trade("48.90"));
  ASSERT_GE(told(), 1U);
  EXPECT_EQ(sink_.notices[0].kind, NoticeKind::crossed);
  EXPECT_EQ(sink_.notices[0].price, *parse_price("50.10"));
}

TEST_F(NewList, TheDayThatIsHeardStaysWhole) {
  start(0);
  begin();
  give(trade("49.60"));
  begin();
  engine_->on_time(at(7 * kHour), sink_);
  ASSERT_EQ(sink_.days.size(), 1U);
  EXPECT_EQ(sink_.days[0].volume, Shares::whole(200));
  EXPECT_EQ(sink_.days[0].open, *parse_price("49.50"));
}

// Read anew it is another object, and the day is the same: what is shown does not go away until the next trade.
TEST_F(NewList, ACalendarThatWasReadAnewIsInTheSameDay) {
  start(0);
  give(trade("49.60", 400));
  calendar_ = *Calendar::load("XNYS", {});
  begin();
  EXPECT_EQ(view().volume.so_far, Shares::whole(500));
  EXPECT_EQ(view().volume.normal, Shares::whole(1'000'000));
  engine_->on_time(at(-kDayNanos), sink_);  // by a clock that is behind
  EXPECT_EQ(view().volume.so_far, Shares::whole(500));
  give(trade("50.10"));
  EXPECT_EQ(told(), 1U);
}

TEST_F(NewList, ADayThatIsOverStaysOverWhenItsCalendarIsReadAnew) {
  start(0);
  engine_->on_time(at(7 * kHour), sink_);
  ASSERT_EQ(sink_.days.size(), 1U);
  calendar_ = *Calendar::load("XNYS", {});
  begin();
  engine_->on_time(at(7 * kHour + kMinute), sink_);
  give(trade("50.10"));
  EXPECT_EQ(sink_.days.size(), 1U) << "told once";
  EXPECT_EQ(told(), 0U);
}

}  // namespace
}  // namespace brimwatch
