// Odds at crossings: by minutes since the open and by gap, each figure by hand; and what a journal teaches of them.
#include "evening/crossing_odds.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <filesystem>

#include "core/text/json.h"
#include "record.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using testing_support::bar;
using testing_support::counted;
using testing_support::crossing;
using testing_support::flat;
using testing_support::input_of;
using testing_support::kDay;
using testing_support::no_pictures;
using testing_support::price;

/// One crossing a day from kDay on, and bars whose volume comes on every second of them, the first one included.
struct Told {
  double odds, minutes, gap, own_lift;
};
ReviewInput told(const std::vector<Told>& all) {
  std::vector<NoticeRecord> notices;
  std::vector<DailyBar> bars;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Date day = kDay + static_cast<int>(i);
    notices.push_back(crossing(Weight::unsettled, all[i].odds, day));
    VolumeView& volume = notices.back().notice.volume;
    volume.minutes = all[i].minutes, volume.gap = all[i].gap, volume.own_lift = all[i].own_lift;
    volume.so_far = Shares::whole(200'000);
    bars.push_back(bar(day, 50, 51, 49, 50.5, i % 2 == 0 ? 1.5e6 : 1.1e6));
  }
  ReviewInput input = input_of(std::move(notices), std::move(bars));
  input.options.to = kDay + static_cast<int>(all.size()) - 1;
  return input;
}

TEST(OddsAtCrossings, StandByMinutesSinceTheOpenAndByGap) {
  const Review out = review(told({{.6, 0, .4, 0}, {.4, 1, 3, 0}, {.8, 1.5, 1, 0}, {.3, 5, -1, 0}, {.5, 300, 1.5, 0}}));
  const OddsAtCrossings& odds = out.at_crossings;
  ASSERT_EQ(odds.by_minute.size(), 3U);
  EXPECT_EQ(minute_text(odds.by_minute[0]), "in the first minute");
  EXPECT_EQ(odds.by_minute[0].count, 2);
  EXPECT_DOUBLE_EQ(odds.by_minute[0].said, .5);
  EXPECT_EQ(odds.by_minute[0].came.hits, 1);
  EXPECT_EQ(minute_text(odds.by_minute[1]), "1 to 5 minutes after the open");
  EXPECT_DOUBLE_EQ(odds.by_minute[1].said, .55);
  EXPECT_EQ(minute_text(odds.by_minute[2]), "after 195 minutes");
  EXPECT_EQ(odds.by_minute[2].came.share(), 1);
  std::vector<std::pair<std::string, int>> gaps;
  for (const OddsBand& band : odds.by_gap) gaps.emplace_back(gap_text(band), band.count);
  EXPECT_THAT(gaps,
              ::testing::ElementsAre(std::pair("gap not known", 1), std::pair("gap of up to 1 daily deviation", 2),
                                     std::pair("gap of 1 to 2 deviations", 1), std::pair("gap above 2 deviations", 1)));
  EXPECT_EQ(odds.unknown, 0);
}

TEST(OddsAtCrossings, AreShownBesideThoseOverAll) {
  const ReviewInput input = told({{.6, 0, .4, 0}, {.4, 20, 3, .02}, {.5, -1, -1, 0}});
  const Review out = review(input);
  const std::string text = flat(in_words(out));
  EXPECT_THAT(text, HasSubstr("Were the odds right?"));
  EXPECT_THAT(text, HasSubstr("in the first minute: said 0.60, came in 1 of 1 ("));
  EXPECT_THAT(text, HasSubstr("15 to 30 minutes after the open: said 0.40, came in 0 of 1 ("));
  EXPECT_THAT(text, HasSubstr("gap above 2 deviations: said 0.40, came in 0 of 1 ("));
  EXPECT_THAT(text, HasSubstr("1 crossing of an older journal, which does not say either"));
  EXPECT_THAT(text, HasSubstr("1 crossing judged with what your own had taught of the volume to come: +2.0 % of a day"));
  const std::string page = to_html(out, input, no_pictures());
  EXPECT_THAT(page, HasSubstr("<td>in the first minute<td>0.60<td>1 of 1 ("));
  EXPECT_THAT(page, HasSubstr("judged with what your own had taught"));
  const auto json = Json::parse(to_json(out));
  EXPECT_EQ(json.at("at_crossings").at("by_minute").at(1).at("from"), 15);
  EXPECT_EQ(json.at("at_crossings").at("by_gap").at(1).at("to"), nullptr) << "for ever";
  EXPECT_EQ(json.at("at_crossings").at("with_own_lift"), 1);
  EXPECT_EQ(json.at("crossings").at(1).at("minutes"), 20);
  EXPECT_EQ(json.at("crossings").at(1).at("own_lift"), .02);
  EXPECT_FALSE(json.at("crossings").at(2).contains("minutes"));
}

TEST(OddsAtCrossings, OfAnOlderJournalNothingIsSaid) {
  const Review out = review(told({{.6, -1, -1, 0}}));
  EXPECT_THAT(in_words(out), Not(HasSubstr("By the time of the crossing")));
  EXPECT_EQ(out.at_crossings.unknown, 1);
}

TEST(PastCrossings, AreOneAStockAndDayWhoseVolumeIsKnown) {
  ReviewInput input = told({{.6, 10, 1, .02}, {.6, 20, 1, 0}, {.6, 30, 1, 0}, {.6, -1, -1, 0}});
  NoticeRecord again = input.notices[0];
  again.id += "2", again.notice.volume.minutes = 90;
  input.notices.insert(input.notices.begin() + 1, again);
  input.notices[2].notice.in_hole = true;
  const auto past = past_crossings(input, review(input));
  ASSERT_EQ(past.size(), 2U);
  EXPECT_EQ(past[0].minutes, 10);
  EXPECT_EQ(past[0].came, 1.5e6);
  EXPECT_EQ(past[0].so_far, 200'000);
  EXPECT_EQ(past[0].projected, 1.6e6);
  EXPECT_EQ(past[0].own_lift, .02);
  EXPECT_EQ(past[1].minutes, 30);
  input.bars.clear();  // the feed's own counts: of a day that it has missed the half of nothing can be learned
  DayRecord half = counted(700'000, price(50)), whole = counted(1'400'000, price(50));
  half.coverage = .5, whole.coverage = 1;
  input.days[{"KLVN", kDay}] = half, input.days[{"KLVN", kDay + 2}] = whole;
  ASSERT_EQ(past_crossings(input, review(input)).size(), 1U);
}

class LiftBefore : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::path(::testing::TempDir()) / ("lift_before_" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder_);
    journal_ = std::move(*Journal::open((folder_ / "journal.db").string()));
  }
  void TearDown() override {
    journal_.reset();
    std::filesystem::remove_all(folder_);
  }
  /// A crossing a day from kDay on, of which 1.6 million was said, and what the feed counted.
  void keep_days(int count, double came) {
    for (int i = 0; i < count; ++i) {
      JournalBatch batch;
      batch.notices = {crossing(Weight::heavy, .9, kDay + i)};
      VolumeView& said = batch.notices[0].notice.volume;
      said.so_far = Shares::whole(300'000), said.minutes = 30, said.gap = .5, said.lift = .04;
      DayRecord day = counted(static_cast<std::int64_t>(came), price(51));
      day.day = kDay + i, day.symbol = "KLVN", day.coverage = 1;
      batch.days = {day};
      ASSERT_TRUE(journal_->commit(batch));
    }
  }
  OwnLift learned(Date since) {
    const auto out = lift_before(since, *journal_, {});
    EXPECT_TRUE(out) << (out ? "" : out.error().text);
    return out ? *out : OwnLift{};
  }

  std::filesystem::path folder_;
  std::unique_ptr<Journal> journal_;
};

TEST_F(LiftBefore, WhatTheJournalKeepsIsEnough) {
  keep_days(60, 1.75e6);
  const OwnLift out = learned(kDay + 60);
  EXPECT_GT(out.lift, .02);
  EXPECT_EQ(out.crossings, 60);
  EXPECT_EQ(out.days, 60);
  EXPECT_EQ(out.since, kDay + 60);
  EXPECT_EQ(out.from, kDay);
  EXPECT_EQ(out.to, kDay + 59);
  EXPECT_EQ(learned(kDay + 20).lift, 0) << "too few before that day";
  EXPECT_EQ(learned(kDay + 20).crossings, 20) << "and what came later is not looked at";
  EXPECT_EQ(learned(kDay + 365 + 30).crossings, 30) << "a year is looked back";
}

TEST_F(LiftBefore, LessThanSaidLowersIt) {
  keep_days(60, 1.3e6);
  EXPECT_LT(learned(kDay + 60).lift, -.01);
}

}  // namespace
}  // namespace brimwatch
