// What a file's bars are, and which of them belong to the session, is never told by days that come later: a file that is
// cut off after some day reads, up to that day, as the whole one does.
#include <gtest/gtest.h>

#include <functional>

#include "volume/learning/bars.h"

namespace brimwatch {
namespace {

constexpr int kFirstMinute = 9 * 60 + 30, kLastMinute = 16 * 60;
constexpr int kEarly = 60, kAll = 260;

/// Rows of days without dates. `day_rows` adds those of one day.
std::vector<BarRow> rows_of(int days, const std::function<void(int day, std::vector<BarRow>& rows)>& day_rows) {
  std::vector<BarRow> rows;
  for (int day = 0; day < days; ++day) day_rows(day, rows);
  return rows;
}

void add_bars(std::vector<BarRow>& rows, int day, int from, int to, int step, double volume) {
  for (int minute = from; minute < to; minute += step) rows.push_back({kLabelDay + day, minute, volume * step, 0, 0, 0});
}

BarSeries read(std::vector<BarRow> rows) {
  static const auto calendar = Calendar::load("XNYS", {});
  return assemble_bars("KLVN", std::move(rows), {}, **calendar);
}

void expect_same(const SessionBars& cut, const SessionBars& whole) {
  EXPECT_EQ(cut.total, whole.total) << cut.day;
  EXPECT_EQ(cut.coverage, whole.coverage) << cut.day;
  ASSERT_EQ(cut.bars.size(), whole.bars.size()) << cut.day;
  for (std::size_t i = 0; i < cut.bars.size(); ++i) {
    EXPECT_EQ(cut.bars[i].minute, whole.bars[i].minute) << cut.day;
    EXPECT_EQ(cut.bars[i].volume, whole.bars[i].volume) << cut.day;
  }
}

/// Of kAll days the first kEarly, read alone and as a part of all.
void expect_no_foresight(const std::function<void(int day, std::vector<BarRow>& rows)>& day_rows) {
  const BarSeries cut = read(rows_of(kEarly, day_rows)), whole = read(rows_of(kAll, day_rows));
  EXPECT_EQ(cut.bar_minutes, whole.bar_minutes);
  EXPECT_EQ(cut.first_end, whole.first_end);
  EXPECT_EQ(cut.counts.took_end_stamped, whole.counts.took_end_stamped);
  ASSERT_EQ(cut.days.size(), static_cast<std::size_t>(kEarly));
  ASSERT_GE(whole.days.size(), cut.days.size());
  for (std::size_t i = 0; i < cut.days.size() && !testing::Test::HasFailure(); ++i)
    expect_same(cut.days[i], whole.days[i]);
}

TEST(NoForesight, AClosingAuctionThatLaterDaysHaveIsNotReadIntoEarlierOnes) {
  expect_no_foresight([](int day, std::vector<BarRow>& rows) {
    add_bars(rows, day, kFirstMinute, kLastMinute, 1, 100);
    add_bars(rows, day, kLastMinute, kLastMinute + 1, 1,
             day < kEarly ? 200 : 5000);  // after hours at first, then the auction
  });
}

TEST(NoForesight, TheClosingAuctionIsCountedOnceTheDaysBeforeShowIt) {
  const BarSeries series = read(rows_of(kAll, [](int day, std::vector<BarRow>& rows) {
    add_bars(rows, day, kFirstMinute, kLastMinute, 1, 100);
    add_bars(rows, day, kLastMinute, kLastMinute + 1, 1, day < kEarly ? 200 : 5000);
  }));
  EXPECT_TRUE(series.counts.closing_bar);
  EXPECT_EQ(series.days[kEarly - 1].total, 39'000);
  EXPECT_EQ(series.days[kAll - 1].total, 44'000);
}

TEST(NoForesight, AnOpenThatComesLateInLaterDaysMovesNoEarlierStamps) {
  expect_no_foresight([](int day, std::vector<BarRow>& rows) {
    const int open = day < kEarly ? kFirstMinute : kFirstMinute + 5;
    add_bars(rows, day, 8 * 60, open, 5, 10);
    add_bars(rows, day, open, kLastMinute + 5, 5, 100);
  });
}

TEST(NoForesight, BarsThatAreFinerLaterAreNoMeasureForEarlierOnes) {
  expect_no_foresight([](int day, std::vector<BarRow>& rows) {
    add_bars(rows, day, kFirstMinute, kLastMinute, day < kEarly ? 15 : 1, 100);
  });
}

TEST(NoForesight, HoursCutElsewhereLaterMoveNoEarlierOnes) {
  expect_no_foresight([](int day, std::vector<BarRow>& rows) {
    add_bars(rows, day, day < kEarly ? kFirstMinute : kFirstMinute - 30, kLastMinute, 60, 100);
  });
}

// A stock that trades in few of its minutes has no gaps; that it trades in all of them later makes none.
TEST(NoForesight, AStockThatIsBusyLaterHadNoGapsBefore) {
  expect_no_foresight([](int day, std::vector<BarRow>& rows) {
    add_bars(rows, day, kFirstMinute, kLastMinute, 1, 100);
    if (day >= kEarly - 3) return;
    std::erase_if(rows, [day](const BarRow& row) { return row.day == kLabelDay + day && row.minute % 40 >= 20; });
  });
}

}  // namespace
}  // namespace brimwatch
