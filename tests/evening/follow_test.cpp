// What following a notice's own rules would have meant, worked out by hand; no total leaves out what has not ended.
#include "evening/follow.h"

#include <gmock/gmock.h>

#include "core/text/json.h"
#include "record.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;
using testing_support::bar;
using testing_support::calm_days;
using testing_support::counted;
using testing_support::crossing;
using testing_support::flat;
using testing_support::input_of;
using testing_support::kDay;
using testing_support::price;

TEST(Follow, buys_a_heavy_crossing_and_sells_after_twenty_sessions_with_costs) {
  const Followed f = review(input_of({crossing()}, calm_days())).crossings.at(0).followed;
  ASSERT_TRUE(f.taken);
  EXPECT_FALSE(f.open);
  EXPECT_EQ(f.sold_on, kDay + 20);
  EXPECT_NEAR(f.result, 100 * (52 * 0.999 / (50.2 * 1.001) - 1), 1e-9);
}

TEST(Follow, sells_at_the_loss_limit_or_at_an_opening_under_it) {
  auto bars = calm_days();
  bars[5] = bar(kDay + 4, 47, 47.5, 45, 45.5);
  Followed f = review(input_of({crossing()}, bars)).crossings.at(0).followed;
  EXPECT_TRUE(f.at_limit);
  EXPECT_FALSE(f.open);
  EXPECT_EQ(f.sold, price(46));
  EXPECT_EQ(f.sold_on, kDay + 4);
  bars[5] = bar(kDay + 4, 44, 47.5, 43, 45.5);
  f = review(input_of({crossing()}, bars)).crossings.at(0).followed;
  EXPECT_EQ(f.sold, price(44)) << "the opening was already under the limit";
}

TEST(Follow, buys_nothing_that_the_notice_itself_speaks_against) {
  NoticeRecord light = crossing(Weight::light, 0.1), over = crossing(), falling = crossing(), late = crossing();
  over.notice.kind = NoticeKind::opened_over;
  over.notice.side = Side::over;
  falling.notice.trend = Trend::down;
  late.notice.delayed = true;
  const std::pair<NoticeRecord, const char*> cases[] = {{light, "the volume was light"},
                                                        {over, "the price was above the range"},
                                                        {falling, "the market was down"},
                                                        {late, "the data was delayed"}};
  for (const auto& [said, why] : cases) {
    const Followed f = review(input_of({said}, calm_days())).crossings.at(0).followed;
    EXPECT_FALSE(f.taken);
    EXPECT_EQ(f.why, why);
  }
}

TEST(Follow, buys_later_when_the_volume_arrives_at_the_price_of_that_notice) {
  NoticeRecord arrived = crossing();
  arrived.notice.kind = NoticeKind::volume_arrived;
  arrived.notice.time = arrived.notice.time + kHour;
  arrived.notice.price = price(51);
  const Followed f = review(input_of({crossing(Weight::light, 0.2), arrived}, calm_days())).crossings.at(0).followed;
  ASSERT_TRUE(f.taken);
  EXPECT_EQ(f.bought, price(51));
}

TEST(Follow, knows_nothing_of_bars_that_had_not_been) {
  // The result up to a day may not depend on what comes after that day.
  auto bars = calm_days();
  const std::vector<DailyBar> shorter(bars.begin(), bars.begin() + 8);
  bars[20] = bar(kDay + 19, 40, 41, 39, 40);
  const Followed then = review(input_of({crossing()}, shorter)).crossings.at(0).followed;
  EXPECT_TRUE(then.open);
  EXPECT_FALSE(then.at_limit);
  EXPECT_EQ(then.sold_on, kDay + 6);
}

TEST(Follow, takes_no_close_from_before_the_purchase_while_the_days_own_bar_is_not_there_yet) {
  const auto bars = calm_days();
  ReviewInput input = input_of({crossing()}, {bars[0]});  // up to the session before, which closed at 49.20
  Followed f = review(input).crossings.at(0).followed;
  EXPECT_TRUE(f.open);
  EXPECT_EQ(f.sold, f.bought) << "nothing is known of what came after";
  EXPECT_EQ(f.sold_on, kDay);
  EXPECT_THAT(flat(in_words(review(input))), HasSubstr("open, no close is known yet: -0.2 %"));
  for (const bool has_bars : {true, false}) {
    if (!has_bars) input.bars.clear();
    input.days[{"KLVN", kDay}] = counted(1'500'000, price(51));
    f = review(input).crossings.at(0).followed;
    EXPECT_TRUE(f.open);
    EXPECT_EQ(f.sold, price(51)) << "what the feed made of the day";
    EXPECT_EQ(f.sold_on, kDay);
    EXPECT_NEAR(f.result, 100 * (51 * 0.999 / (50.2 * 1.001) - 1), 1e-9);
    EXPECT_THAT(flat(in_words(review(input))), HasSubstr("open, last close 51.00 on"));
  }
}

TEST(Follow, goes_on_with_the_bars_after_a_day_that_has_none) {
  auto bars = calm_days();
  bars.erase(bars.begin() + 1);
  const Followed f = review(input_of({crossing()}, bars)).crossings.at(0).followed;
  EXPECT_FALSE(f.open);
  EXPECT_EQ(f.sold_on, kDay + 20);
}

/// `count` crossings on kDay, one a stock: S0, S1 ... The first `fall` of them go to the loss limit on the third day; of
/// the others the bars end on the fifth.
ReviewInput several(int count, int fall) {
  ReviewInput input = input_of({}, {});
  input.bars.clear();
  for (int i = 0; i < count; ++i) {
    NoticeRecord one = crossing();
    one.symbol = "S" + std::to_string(i);
    input.notices.push_back(one);
    auto bars = calm_days();
    if (i < fall) bars[4] = bar(kDay + 3, 47, 47.5, 45, 45.5);
    bars.resize(2 + 5);
    input.bars[one.symbol] = bars;
  }
  return input;
}

TEST(Followed, counts_those_that_fell_to_the_limit_days_later_and_those_that_are_open) {
  const FollowSummary sum = review(several(10, 6)).followed;
  const double lost = 100 * (46 * 0.999 / (50.2 * 1.001) - 1), stands = 100 * (52 * 0.999 / (50.2 * 1.001) - 1);
  EXPECT_EQ(sum.taken, 10);
  EXPECT_EQ(sum.ended, 6);
  EXPECT_EQ(sum.at_limit, 6);
  EXPECT_EQ(sum.open, 4);
  EXPECT_EQ(sum.won.hits, 4);
  EXPECT_EQ(sum.won.of, 10) << "all of them, not only those that ended";
  EXPECT_NEAR(sum.mean, (6 * lost + 4 * stands) / 10, 1e-9);
  EXPECT_NEAR(sum.ended_mean, lost, 1e-9);
  EXPECT_NEAR(sum.open_mean, stands, 1e-9);
  EXPECT_NEAR(sum.worst, lost, 1e-9);
}

TEST(Followed, tells_the_open_ones_beside_those_that_ended) {
  const Review out = review(several(10, 6));
  EXPECT_THAT(flat(in_words(out)),
              HasSubstr("10 purchases: 6 ended (6 at the loss limit), mean -8.5 %; 4 still open at their "
                        "last closes, mean +3.4 %"));
  EXPECT_THAT(flat(in_words(out)), HasSubstr("sold at the loss limit, 46.00 on 2026-03-05: -8.5 %"));
  const auto json = Json::parse(to_json(out));
  EXPECT_EQ(json["followed"]["open"], 4);
  EXPECT_EQ(json["crossings"][0]["followed"]["open"], false);
}

TEST(Followed, is_sold_where_only_the_notice_of_a_later_day_knows_it) {
  NoticeRecord limit = crossing();
  limit.notice.kind = NoticeKind::loss_limit;
  limit.notice.day = kDay + 2;
  limit.notice.time = limit.notice.time + 2 * kDayNanos;
  limit.notice.price = price(45.9);
  ReviewInput input = input_of({crossing(), limit}, {});
  const Followed f = review(input).crossings.at(0).followed;
  EXPECT_FALSE(f.open);
  EXPECT_TRUE(f.at_limit);
  EXPECT_EQ(f.sold, price(45.9));
  EXPECT_EQ(f.sold_on, kDay + 2);
}

TEST(Followed, takes_the_feeds_own_days_where_there_are_no_bars) {
  ReviewInput input = input_of({crossing()}, {});
  input.days[{"KLVN", kDay}] = counted(1'500'000, price(51));
  input.days[{"KLVN", kDay + 1}] = counted(1'000'000, price(45));
  Followed f = review(input).crossings.at(0).followed;
  EXPECT_TRUE(f.at_limit);
  EXPECT_EQ(f.sold, price(45));
  input.days[{"KLVN", kDay + 1}].close = price(53);
  f = review(input).crossings.at(0).followed;
  EXPECT_TRUE(f.open);
  EXPECT_EQ(f.sold, price(53)) << "valued at the last close that is known";
}

TEST(Followed, is_not_sold_at_a_limit_that_came_after_the_twentieth_session) {
  auto bars = calm_days();
  bars[1 + 22].low = price(40);
  const Followed f = review(input_of({crossing()}, bars)).crossings.at(0).followed;
  EXPECT_FALSE(f.at_limit);
  EXPECT_EQ(f.sold_on, kDay + 20);
}

}  // namespace
}  // namespace brimwatch
