// What came of a crossing, worked out by hand; intervals against Boost.Math.
#include "evening/review.h"

#include <gmock/gmock.h>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/tools/roots.hpp>
#include <nlohmann/json.hpp>

#include "record.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using testing_support::bar;
using testing_support::calm_days;
using testing_support::crossing;
using testing_support::input_of;
using testing_support::kDay;
using testing_support::price;

TEST(Review, sets_the_volume_that_came_against_what_was_said) {
  const Review out = review(input_of({crossing()}, calm_days()));
  ASSERT_EQ(out.crossings.size(), 1U);
  const Crossing& one = out.crossings[0];
  EXPECT_TRUE(one.official);
  EXPECT_DOUBLE_EQ(*one.surge, 50);  // 1.5 of 1.0 million
  EXPECT_TRUE(*one.came);            // 40 % was needed
  EXPECT_TRUE(one.in_interval);      // 1.4 to 1.9 million was said
  EXPECT_EQ(*one.close, price(51));
  EXPECT_EQ(one.closed, Side::inside);
}

TEST(Review, takes_the_feeds_own_count_brought_to_the_whole_tape_where_there_is_no_bar) {
  NoticeRecord said = crossing();
  said.notice.volume.feed_ratio = 0.5;
  ReviewInput input = input_of({said}, {});
  DayRecord day;
  day.volume = Shares::whole(600'000);
  day.close = price(53);
  input.days[{"KLVN", kDay}] = day;
  const Crossing one = review(input).crossings.at(0);
  EXPECT_FALSE(one.official);
  EXPECT_DOUBLE_EQ(*one.volume, 1.2e6);
  EXPECT_FALSE(*one.came);
  EXPECT_EQ(one.closed, Side::over);
}

TEST(Review, measures_the_swing_of_the_sessions_after_and_not_of_the_day_itself) {
  auto bars = calm_days();
  bars[2].low = price(48);
  const Crossing one = review(input_of({crossing()}, bars)).crossings.at(0);
  EXPECT_NEAR(one.after[0]->rise, 100 * (52.1 / 50.2 - 1), 1e-9);
  EXPECT_NEAR(one.after[0]->fall, 100 * (48 / 50.2 - 1), 1e-9);
  EXPECT_NEAR(one.after[2]->rise, 100 * (54 / 50.2 - 1), 1e-9);
}

TEST(Review, does_not_tell_a_swing_whose_sessions_have_not_all_been) {
  auto bars = calm_days();
  bars.resize(2 + 4);
  const Crossing one = review(input_of({crossing()}, bars)).crossings.at(0);
  EXPECT_TRUE(one.after[0].has_value());
  EXPECT_FALSE(one.after[1].has_value());
}

TEST(Follow, buys_a_heavy_crossing_and_sells_after_twenty_sessions_with_costs) {
  const Followed f = review(input_of({crossing()}, calm_days())).crossings.at(0).followed;
  ASSERT_TRUE(f.taken);
  EXPECT_FALSE(f.held);
  EXPECT_EQ(f.sold_on, kDay + 20);
  EXPECT_NEAR(f.result, 100 * (52 * 0.999 / (50.2 * 1.001) - 1), 1e-9);
}

TEST(Follow, sells_at_the_loss_limit_or_at_an_opening_under_it) {
  auto bars = calm_days();
  bars[5] = bar(kDay + 4, 47, 47.5, 45, 45.5);
  Followed f = review(input_of({crossing()}, bars)).crossings.at(0).followed;
  EXPECT_TRUE(f.at_limit);
  EXPECT_EQ(f.sold, price(46));
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
  const std::vector<DayBar> shorter(bars.begin(), bars.begin() + 8);
  bars[20] = bar(kDay + 19, 40, 41, 39, 40);
  const Followed then = review(input_of({crossing()}, shorter)).crossings.at(0).followed;
  EXPECT_TRUE(then.held);
  EXPECT_FALSE(then.at_limit);
  EXPECT_EQ(then.sold_on, kDay + 6);
}

TEST(Review, tells_what_was_delivered_late_or_never) {
  ReviewInput input = input_of({crossing()}, calm_days());
  DeliveryRow late, dead, fine;
  const Timestamp then = input.notices[0].notice.time;
  late.channel = "mail", late.state = DeliveryState::delivered, late.done = then + 5 * kMinute, late.attempts = 3;
  dead.channel = "hook", dead.state = DeliveryState::dead, dead.reply = "HTTP 410";
  fine.channel = "desk", fine.state = DeliveryState::delivered, fine.done = then + kSecond;
  input.deliveries[input.notices[0].id] = {late, dead, fine};
  const Review out = review(input);
  ASSERT_EQ(out.troubles.size(), 2U);
  EXPECT_EQ(out.troubles[0].kind, DayTrouble::Kind::late);
  EXPECT_EQ(out.troubles[0].why, "arrived 5 min after it happened, at attempt 3");
  EXPECT_EQ(out.troubles[1].why, "refused for good: HTTP 410");
}

TEST(Review, tells_a_day_that_passed_the_pivot_without_a_notice) {
  ReviewInput input = input_of({}, calm_days());
  input.watches = {{"KLVN", price(50), std::nullopt, std::nullopt, price(49.5)}};
  const Review out = review(input);
  ASSERT_EQ(out.troubles.size(), 1U);
  EXPECT_EQ(out.troubles[0].kind, DayTrouble::Kind::missed);
  EXPECT_THAT(out.troubles[0].why, HasSubstr("the feed has no record of that day"));
}

TEST(Review, does_not_call_a_second_crossing_missed_while_the_watch_was_not_armed) {
  auto bars = calm_days();
  bars[1].close = price(49.9);
  bars[2] = bar(kDay + 1, 49.9, 50.5, 49.8, 50.2);
  ReviewInput input = input_of({crossing()}, bars);
  input.options.to = kDay + 1;
  input.watches = {{"KLVN", price(50), std::nullopt, std::nullopt, price(49.5)}};
  EXPECT_TRUE(review(input).troubles.empty());
  input.bars["KLVN"][1].close = price(49.4);  // closed under the level: armed again
  EXPECT_EQ(review(input).troubles.size(), 1U);
}

TEST(Review, counts_by_weight_with_wilson_intervals_that_solve_the_score_equation) {
  // Wilson (1927): the bounds are the p at which |share - p| = z sqrt(p (1 - p) / n). z and the roots from Boost.Math.
  const double z = boost::math::quantile(boost::math::normal(), 0.975);
  for (const auto& [hits, count] : {std::pair(0, 5), {3, 7}, {50, 60}, {12, 12}, {1, 400}}) {
    const double share = static_cast<double>(hits) / count;
    const auto score = [&](double p) { return (share - p) * (share - p) - z * z * p * (1 - p) / count; };
    const auto root = [&](double from, double to) {
      const auto between = boost::math::tools::bisect(score, from, to, boost::math::tools::eps_tolerance<double>(40));
      return (between.first + between.second) / 2;
    };
    const Interval interval = wilson_interval(hits, count);
    EXPECT_NEAR(interval.low, hits > 0 ? root(0, share - 1e-12) : 0, 1e-6) << hits << " of " << count;
    EXPECT_NEAR(interval.high, hits < count ? root(share + 1e-12, 1) : 1, 1e-6) << hits << " of " << count;
  }
}

TEST(Review, says_everything_in_words_json_and_html_and_lets_no_text_break_the_page) {
  ReviewInput input = input_of({crossing()}, calm_days());
  input.notices[0].note = "<script>alert(1)</script>";
  const Review out = review(input);
  const std::string words = in_words(out), page = to_html(out, input);
  EXPECT_THAT(words, HasSubstr("2026-03-02 15:00:00  KLVN crossed, pivot 50.00 at 50.20; heavy, odds 0.90"));
  EXPECT_THAT(words, HasSubstr("came 1.50M, +50 %: reached the +40 % needed"));
  EXPECT_THAT(words, HasSubstr("not advice"));
  EXPECT_THAT(page, Not(HasSubstr("<script>")));
  EXPECT_THAT(page, HasSubstr("&lt;script&gt;"));
  const auto json = nlohmann::json::parse(to_json(out));
  EXPECT_EQ(json["crossings"][0]["pivot"], "50.00");
  EXPECT_EQ(json["crossings"][0]["came"], true);
  EXPECT_EQ(json["weights"][0]["came"], 1);
}

TEST(Review, of_a_quiet_day_says_so) {
  const std::string words = in_words(review(input_of({}, calm_days())));
  EXPECT_THAT(words, HasSubstr("0 notices, 0 crossings"));
  EXPECT_THAT(words, HasSubstr("Nothing was missed"));
}

}  // namespace
}  // namespace brimwatch
