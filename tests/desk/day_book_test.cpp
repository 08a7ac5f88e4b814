#include "desk/day_book.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::Field;
using testing::Pair;

constexpr Date kDay{20'740}, kNext{20'741};

std::vector<float> minutes_of(const DayBook& book, std::string_view symbol) {
  std::vector<float> out;
  for (const DayMinute& one : book.minutes(symbol)) out.push_back(one.minute);
  return out;
}

TEST(DayBook, takes_one_look_a_minute) {
  DayBook book;
  EXPECT_TRUE(book.begins_minute(kDay, 100, 40));
  EXPECT_FALSE(book.begins_minute(kDay, 100, 40));
  EXPECT_TRUE(book.begins_minute(kDay, 101, 40));
  EXPECT_TRUE(book.begins_minute(kDay, 140, 40));
  EXPECT_FALSE(book.begins_minute(kDay, 139, 40)) << "time that goes back is passed over";
}

TEST(DayBook, looks_more_seldom_at_many_stocks_so_that_its_room_is_bounded) {
  DayBook book;
  int looks = 0;
  for (std::int64_t minute = 0; minute < 390; ++minute) looks += book.begins_minute(kDay, minute, 8'000);
  EXPECT_LE(static_cast<std::size_t>(looks) * 8'000, DayBook::kPointsMost);
  EXPECT_GE(looks, 40);
}

TEST(DayBook, a_new_day_clears_it) {
  DayBook book;
  ASSERT_TRUE(book.begins_minute(kDay, 100, 1));
  book.add("KLVN", {1, 20, 100, 0, 0, 0});
  book.mark("KLVN", {1, 20, "crossed 09:31"});
  book.hole(2, 3);
  ASSERT_TRUE(book.begins_minute(kNext, 100, 1));
  EXPECT_TRUE(book.minutes("KLVN").empty());
  EXPECT_TRUE(book.marks("KLVN").empty());
  EXPECT_TRUE(book.holes().empty());
  EXPECT_EQ(book.day(), kNext);
}

TEST(DayBook, points_ascend_and_the_newest_of_a_minute_stays) {
  DayBook book;
  book.add("KLVN", {1, 20, 100, 0, 0, 0});
  book.add("KLVN", {2, 21, 200, 0, 0, 0});
  book.add("KLVN", {2, 22, 250, 0, 0, 0});
  book.add("ORRI", {5, 9, 1, 0, 0, 0});
  EXPECT_THAT(minutes_of(book, "KLVN"), ElementsAre(1, 2));
  EXPECT_FLOAT_EQ(book.minutes("KLVN").back().price, 22);
  EXPECT_THAT(minutes_of(book, "ORRI"), ElementsAre(5));
  EXPECT_TRUE(book.minutes("NIVO").empty());
}

TEST(DayBook, is_bounded_in_all_it_keeps) {
  DayBook book;
  for (int i = 0; i < 10'000; ++i) {
    book.add("KLVN", {static_cast<float>(i), 20, 100, 0, 0, 0});
    book.mark("KLVN", {1, 20, "x"});
    book.hole(i, i + 1);
  }
  EXPECT_EQ(book.minutes("KLVN").size(), DayBook::kMinutesMost);
  EXPECT_EQ(book.marks("KLVN").size(), DayBook::kMarksMost);
  EXPECT_EQ(book.holes().size(), DayBook::kHolesMost);
}

TEST(DayBook, marks_are_each_stocks_own_and_empty_holes_are_none) {
  DayBook book;
  book.mark("KLVN", {1, 20, "crossed 09:31"});
  book.mark("ORRI", {2, 9, "crossed 09:32"});
  book.hole(5, 5);
  book.hole(5, 6);
  EXPECT_THAT(book.marks("ORRI"), ElementsAre(Field(&DayPicture::Mark::label, "crossed 09:32")));
  EXPECT_THAT(book.holes(), ElementsAre(Pair(5, 6)));
}

}  // namespace
}  // namespace brimwatch
