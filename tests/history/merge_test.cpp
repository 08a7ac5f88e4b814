#include "history/merge.h"

#include <gmock/gmock.h>

#include <random>
#include <set>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

DailyBar row(int day, double close, double volume = 1e6) {
  const Price price{static_cast<std::int64_t>(close * 1e6 + 0.5)};
  return {Date{20'000 + day}, price, price, price, price, volume};
}

DailySeries series(std::vector<DailyBar> bars) {
  DailySeries out;
  out.symbol = "KLVN";
  out.bars = std::move(bars);
  return out;
}

TEST(MergeDays, NewDaysComeIntoTheirPlaces) {
  const MergedDays merged = merge_days(series({row(1, 40), row(3, 42), row(9, 50)}), series({row(2, 41), row(4, 43)}));
  EXPECT_THAT(merged.series.bars, ElementsAre(row(1, 40), row(2, 41), row(3, 42), row(4, 43), row(9, 50)));
  EXPECT_EQ(in_words(merged), "2 days added");
}

TEST(MergeDays, WhatTheSourceChangesOfThePastIsTold) {
  const MergedDays merged = merge_days(series({row(1, 40), row(2, 41)}), series({row(1, 40, 2e6), row(2, 41)}));
  EXPECT_EQ(in_words(merged), "1 day of the past restated: 2024-10-05 volume 1.00M to 2.00M");
  EXPECT_EQ(merged.series.bars[0].volume, 2e6);
}

TEST(MergeDays, AHeardDayGivesWayToTheSourcesAndNeverTheOtherWayRound) {
  DailySeries kept = series({row(1, 40), row(2, 41)});
  kept.own = {Date{20'002}};
  const MergedDays official = merge_days(kept, series({row(2, 41, 3e6)}));
  EXPECT_EQ(official.replaced_own, 1);
  EXPECT_THAT(official.series.own, IsEmpty());
  EXPECT_THAT(official.restated, IsEmpty()) << "ours was no statement of the source";
  const MergedDays heard = merge_days(official.series, series({row(2, 9, 9), row(3, 42)}), true);
  EXPECT_EQ(heard.series.bars[1], row(2, 41, 3e6));
  EXPECT_THAT(heard.series.own, ElementsAre(Date{20'003}));
}

TEST(MergeDays, ACommonRatioOfAllPricesIsASplits) {
  const DailySeries kept = series({row(1, 40), row(2, 41.5), row(3, 42), row(4, 43)});
  const MergedDays merged = merge_days(kept, series({row(2, 20.75), row(3, 21), row(4, 21.5), row(5, 22)}));
  EXPECT_EQ(merged.ratio, 2) << "whole, though cents are rounded";
  EXPECT_THAT(in_words(merged), HasSubstr("all prices of the past restated by 2 to 1"));
  EXPECT_EQ(merge_days(kept, series({row(2, 41.4), row(3, 41.9), row(4, 42.9)})).ratio, 1) << "a dividend taken out";
  EXPECT_EQ(merge_days(kept, series({row(3, 21), row(4, 21.5)})).ratio, 1) << "two days may be chance";
}

TEST(MergeDays, OlderRowsAreBroughtToNewTerms) {
  DailySeries one = series({row(1, 40, 100), row(2, 20, 200)});
  rescale_before(one, Date{20'002}, 2);
  EXPECT_THAT(one.bars, ElementsAre(row(1, 20, 200), row(2, 20, 200)));
}

TEST(MergeDays, NoRowIsEverLost) {
  std::mt19937 random(7);
  for (int round = 0; round < 200; ++round) {
    DailySeries kept = series({}), fresh = series({});
    std::set<Date> all;
    for (int day = 0; day < 40; ++day) {
      if (random() % 3 != 0) kept.bars.push_back(row(day, 40 + day * 0.1)), all.insert(Date{20'000 + day});
      if (random() % 3 == 0) fresh.bars.push_back(row(day, 40 + day * 0.1)), all.insert(Date{20'000 + day});
    }
    const MergedDays merged = merge_days(kept, fresh, random() % 2 == 0);
    std::vector<Date> days;
    for (const DailyBar& bar : merged.series.bars) days.push_back(bar.day);
    ASSERT_EQ(days, std::vector<Date>(all.begin(), all.end()));
  }
}

}  // namespace
}  // namespace brimwatch
