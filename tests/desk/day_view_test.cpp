// A desk with two watches and an invented morning; what the book of the day sees of it.
#include "desk/day_view.h"

#include <gmock/gmock.h>

#include "core/text/json.h"
#include "desk/notice_collector.h"
#include "support/watch_on.h"

namespace brimwatch {
namespace {

using test::watch_on;
using testing::ElementsAre;
using testing::SizeIs;

struct Day : testing::Test {
  void SetUp() override {
    Settings settings;
    settings.watches = {watch_on("KLVN", "20.00"), watch_on("KLVN", "21.00"), watch_on("ORRI", "50.00")};
    auto opened = Desk::open(std::move(settings));
    ASSERT_TRUE(opened) << opened.error().text;
    desk = std::move(*opened);
    collector = std::make_unique<NoticeCollector>(*desk);
  }

  /// 2026-10-14 is in daylight time: the session is 09:30 to 16:00 at -04:00.
  static Timestamp at(const char* clock) { return *parse_rfc3339("2026-10-14T" + std::string(clock) + "-04:00"); }

  void trade(const char* clock, const char* symbol, const char* price, std::int64_t size) {
    Tick tick;
    tick.symbol = desk->symbols().intern(symbol);
    tick.time = tick.received = at(clock);
    tick.price = *parse_price(price);
    tick.size = Shares::whole(size);
    desk->begin_day(desk->main_calendar().local_date(tick.time));
    desk->engine().on_ticks({&tick, 1}, *collector);
    look_at_day(*desk, tick.time, book);
    const JournalBatch batch = std::exchange(collector->batch, {});
    note_in_day(*desk, batch, book);
    for (const NoticeRecord& record : batch.notices) notices.push_back(record);
  }

  std::unique_ptr<Desk> desk;
  std::unique_ptr<NoticeCollector> collector;
  DayBook book;
  std::vector<NoticeRecord> notices;
};

TEST_F(Day, is_seen_minute_by_minute) {
  trade("09:30:05", "KLVN", "19.50", 1'000);
  trade("09:30:40", "KLVN", "19.55", 1'000);  // the same minute: the first look stands
  trade("09:31:10", "KLVN", "19.60", 500);
  trade("09:31:20", "ORRI", "49.00", 10);
  trade("09:33:00", "ORRI", "49.10", 10);
  ASSERT_THAT(book.minutes("KLVN"), SizeIs(3)) << "a stock that did not trade stands where it stood";
  EXPECT_FLOAT_EQ(book.minutes("KLVN")[0].price, 19.50F);
  EXPECT_FLOAT_EQ(book.minutes("KLVN")[1].price, 19.60F);
  EXPECT_FLOAT_EQ(book.minutes("KLVN")[1].volume, 2'500);
  EXPECT_NEAR(book.minutes("KLVN")[1].minute, 1.0 + 10.0 / 60, 1e-4);
  EXPECT_FLOAT_EQ(book.minutes("ORRI")[0].minute, 3);
}

TEST_F(Day, a_notice_gets_the_day_up_to_itself) {
  trade("09:30:05", "KLVN", "19.50", 100'000);
  trade("10:00:00", "KLVN", "19.80", 300'000);
  trade("10:15:30", "KLVN", "20.10", 50'000);
  trade("10:20:00", "KLVN", "19.00", 1);
  ASSERT_FALSE(notices.empty());
  ASSERT_EQ(notices.front().notice.kind, NoticeKind::crossed);
  const DayPicture picture = day_picture(*desk, book, notices.front());
  EXPECT_EQ(picture.symbol, "KLVN");
  EXPECT_DOUBLE_EQ(picture.session_minutes, 390);
  EXPECT_DOUBLE_EQ(picture.open_minute, 570);
  EXPECT_DOUBLE_EQ(picture.now_minute, 45.5);
  ASSERT_THAT(picture.price, SizeIs(3));
  EXPECT_DOUBLE_EQ(picture.price.back().value, 20.10);
  EXPECT_DOUBLE_EQ(picture.volume.back().value, 450'000);
  EXPECT_GT(picture.projected, 450'000);
  EXPECT_LT(picture.low, picture.high);
  EXPECT_DOUBLE_EQ(picture.usual.front().value, 0);
  EXPECT_DOUBLE_EQ(picture.usual.back().value, 1);
  ASSERT_THAT(picture.marks, SizeIs(1));
  EXPECT_EQ(picture.marks.front().label, "crossed 10:15");
}

TEST_F(Day, a_notice_of_another_day_or_about_a_feed_has_no_series) {
  trade("09:30:05", "KLVN", "19.50", 100);
  NoticeRecord feed;
  feed.notice.kind = NoticeKind::feed_silent;
  EXPECT_TRUE(day_picture(*desk, book, feed).price.empty());
  trade("10:15:30", "KLVN", "20.10", 50'000);
  ASSERT_FALSE(notices.empty());
  NoticeRecord old = notices.front();
  old.notice.day = old.notice.day + (-1);
  EXPECT_TRUE(day_picture(*desk, book, old).price.empty());
}

TEST_F(Day, before_the_open_and_after_the_evening_nothing_is_kept) {
  trade("09:10:00", "KLVN", "19.50", 100);
  trade("16:11:00", "KLVN", "19.50", 100);
  EXPECT_TRUE(book.minutes("KLVN").empty());
}

TEST_F(Day, reads_as_json_with_arrays_of_one_length) {
  trade("09:30:05", "KLVN", "19.50", 100'000);
  trade("10:15:30", "KLVN", "20.10", 350'000);
  const auto json = Json::parse(day_json(*desk, book, "KLVN"));
  EXPECT_EQ(json["day"], "2026-10-14");
  EXPECT_EQ(json["open_minute"], 570);
  for (const char* list : {"minute", "price", "volume", "projected", "low", "high"})
    EXPECT_EQ(json[list].size(), 2U) << list;
  EXPECT_EQ(json["price"][1], 20.1);
  EXPECT_EQ(json["usual"].back()[1], 1);
  EXPECT_EQ(json["marks"][0]["label"], "crossed 10:15");
  EXPECT_EQ(day_json(*desk, book, "NOBODY"), "{}");
}

TEST_F(Day, is_told_in_short_for_all_stocks) {
  trade("09:30:05", "KLVN", "19.50", 100'000);
  for (int minute = 31; minute < 45; ++minute)
    trade(("09:" + std::to_string(minute) + ":05").c_str(), "KLVN", minute % 2 == 0 ? "19.52" : "19.50", 100);
  const auto json = Json::parse(days_json(*desk, book, at("09:45:00")));
  EXPECT_EQ(json["day"], "2026-10-14");
  const auto& stock = json["stocks"]["KLVN"];
  EXPECT_GE(stock["minute"].size(), 10U);
  EXPECT_EQ(stock["price"].size(), stock["minute"].size());
  EXPECT_NEAR(stock["move"].get<double>(), 0.02, 0.002);
  EXPECT_GT(stock["usual"].get<double>(), 0);
  EXPECT_LT(stock["usual"].get<double>(), 0.5);
}

}  // namespace
}  // namespace brimwatch
