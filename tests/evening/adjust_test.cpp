// A split between the notice and today: what was said and what came are brought to the same terms.
#include "evening/adjust.h"

#include <gmock/gmock.h>

#include "record.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;
using testing_support::bar;
using testing_support::calm_days;
using testing_support::crossing;
using testing_support::input_of;
using testing_support::kDay;
using testing_support::price;

constexpr int kSplitAfter = 3;  // days after the crossing

/// The calm days as they were quoted: twice the price and half the volume before a 2:1 split.
std::vector<DailyBar> raw_days() {
  auto bars = calm_days();
  for (DailyBar& one : bars) {
    if (one.day >= kDay + kSplitAfter) continue;
    for (Price* p : {&one.open, &one.high, &one.low, &one.close}) p->micros *= 2;
    one.volume /= 2;
  }
  return bars;
}

/// The crossing as it was told before that split.
NoticeRecord told_before() {
  NoticeRecord out = crossing();
  Notice& n = out.notice;
  for (Price* p : {&n.price, &n.pivot, &n.range_top, &n.loss_limit}) p->micros *= 2;
  n.volume.normal = Shares{n.volume.normal.micros / 2};
  for (double* v : {&n.volume.projected, &n.volume.low, &n.volume.high}) *v /= 2;
  return out;
}

const PriceEvents kSplit = {{"KLVN", {{kDay + kSplitAfter, 2, {}}}}};

TEST(Adjust, gives_the_review_that_there_would_have_been_without_the_split) {
  const Crossing plain = review(input_of({crossing()}, calm_days())).crossings.at(0);
  for (const auto& bars : {raw_days(), calm_days()}) {  // as quoted, and as many sources adjust them themselves
    ReviewInput input = input_of({told_before()}, bars);
    adjust_to_last_bar(input, kSplit);
    const Crossing one = review(input).crossings.at(0);
    EXPECT_EQ(one.said.notice.pivot, price(50));
    EXPECT_EQ(one.close, plain.close);
    EXPECT_EQ(one.closed, plain.closed);
    EXPECT_DOUBLE_EQ(*one.surge, *plain.surge);
    EXPECT_TRUE(one.in_interval);
    for (std::size_t i = 0; i < kSpans.size(); ++i) {
      EXPECT_NEAR(one.after[i]->rise, plain.after[i]->rise, 1e-9);
      EXPECT_NEAR(one.after[i]->fall, plain.after[i]->fall, 1e-9);
    }
    EXPECT_FALSE(one.followed.at_limit) << "the split is not a fall to the loss limit";
    EXPECT_NEAR(one.followed.result, plain.followed.result, 1e-9);
    EXPECT_EQ(one.adjusted, "2:1 split on " + to_string(kDay + kSplitAfter));
    EXPECT_THAT(in_words(review(input)), HasSubstr("in today's terms, after the 2:1 split on"));
  }
}

TEST(Adjust, without_it_the_split_looks_like_a_loss) {
  // Why it is there at all; and a check that the test above can fail.
  const Crossing one = review(input_of({told_before()}, raw_days())).crossings.at(0);
  EXPECT_TRUE(one.followed.at_limit);
}

TEST(Adjust, brings_the_feeds_own_count_along) {
  ReviewInput input = input_of({told_before()}, raw_days());
  input.bars["KLVN"].erase(input.bars["KLVN"].begin() + 1);  // no bar of the day itself
  DayRecord day;
  day.volume = Shares::whole(750'000);
  day.close = price(102);
  input.days[{"KLVN", kDay}] = day;
  adjust_to_last_bar(input, kSplit);
  const Crossing one = review(input).crossings.at(0);
  EXPECT_DOUBLE_EQ(*one.volume, 1.5e6);
  EXPECT_EQ(*one.close, price(51));
}

TEST(Adjust, leaves_other_symbols_and_splits_to_come_alone) {
  ReviewInput input = input_of({crossing()}, calm_days());
  adjust_to_last_bar(input, {{"ORRI", {{kDay + 1, 2, {}}}}, {"KLVN", {{kDay + 400, 2, {}}}}});
  EXPECT_TRUE(input.adjusted.empty());
  EXPECT_EQ(input.notices[0].notice.pivot, price(50));
  EXPECT_EQ(input.bars["KLVN"], calm_days());
}

}  // namespace
}  // namespace brimwatch
