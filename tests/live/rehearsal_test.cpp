// A past day that is played: everything that is said of it says so, it goes on to its end, and its review comes.
#include "core/rehearsal_mark.h"
#include "house_rig.h"

namespace brimwatch::simulation {
namespace {

const Timestamp kTape = *parse_rfc3339("2026-08-12T11:00:00-04:00");  // two months before our clock

struct RehearsalCase : HouseRig {
  void SetUp() override {
    open();
    house->restore({});
    begin();
  }
  void change(Settings& settings) override {
    settings.feeds.back().rehearsal = 60;
    settings.evening.review_at = "17:00";
  }
  void change(HouseWorld& world) override {
    world.make_review = [this](Date day, Timestamp, const std::function<void(NoticeRecord)>& answer) {
      reviewed.push_back(day);
      NoticeRecord review;
      review.id = "review", review.title = "Review of " + to_string(day), review.text = "text";
      review.notice.kind = NoticeKind::day_end, review.notice.day = day, review.notice.time = house->engine_now();
      answer(std::move(review));
    };
    world.keep_picture = [this](const std::string&, const DayPicture&) {
      waiting_at_picture.push_back(keeper.waiting());
    };
  }
  void played(Nanos after, const char* price) {
    Tick tick;
    tick.symbol = symbols->find("KLVN");
    tick.time = tick.received = kTape + after;
    tick.price = *parse_price(price);
    tick.size = Shares::whole(100);
    tick.exchange = 'N';
    tick.id = ++last_id;
    listener->on_frame(tick.received, "");
    listener->on_ticks({&tick, 1});
  }

  std::vector<Date> reviewed;
  std::vector<std::size_t> waiting_at_picture;  ///< batches that the journal had when a picture was made
};

TEST_F(RehearsalCase, WhateverItSaysIsMarkedAndItsAgesAreTheTapes) {
  played(0, "19.80");
  played(kSecond, "20.05");
  pass(10 * kSecond);
  ASSERT_EQ(times_sent("crossed 20.00"), 1U);
  for (const Message& message : sent) {
    EXPECT_TRUE(message.title.starts_with("Rehearsal: ")) << message.title;
    EXPECT_THAT(message.text, testing::HasSubstr("REHEARSAL: a past day is played"));
    EXPECT_FALSE(message.late) << message.title;
    for (const NoticeRecord& record : message.notices) EXPECT_LT(record.notice.age, kMinute) << record.title;
  }
  for (const NoticeRecord& record : keeper.kept.notices) EXPECT_TRUE(is_rehearsal(record)) << record.title;
  EXPECT_TRUE(house->snapshot().rehearsal);
}

TEST_F(RehearsalCase, ItsDayEndsAndItsReviewComesAndNoOtherDayBegins) {
  played(0, "19.80");
  pass(10 * kMinute);  // ten hours of the tape, and more than are left of its day
  EXPECT_EQ(reviewed, std::vector{Date::of(2026, 8, 12)});
  EXPECT_EQ(times_sent("Rehearsal: Review of 2026-08-12"), 1U);
  EXPECT_EQ(keeper.kept.days.size(), 1U) << "the day of the stock that traded";
  pass(kHour);
  EXPECT_EQ(reviewed.size(), 1U);
  EXPECT_LT(house->engine_now(), *parse_rfc3339("2026-08-13T00:00:00-04:00"));
}

TEST_F(RehearsalCase, APictureIsMadeWhenTheJournalHasTheBatch) {
  played(0, "19.80");
  pass(kSecond);
  ASSERT_EQ(keeper.waiting(), 0U);
  played(2 * kSecond, "20.05");
  EXPECT_EQ(waiting_at_picture, std::vector<std::size_t>{1});
}

}  // namespace
}  // namespace brimwatch::simulation
