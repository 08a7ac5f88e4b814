// What came of a crossing, worked out by hand; intervals against Boost.Math.
#include "evening/review.h"

#include <gmock/gmock.h>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>

#include "core/text/json.h"
#include "record.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using testing_support::bar;
using testing_support::calm_days;
using testing_support::counted;
using testing_support::crossing;
using testing_support::flat;
using testing_support::input_of;
using testing_support::kDay;
using testing_support::no_pictures;
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

/// The crossing as it is told of a feed that carries `part` of the tape: everything in the feed's shares.
NoticeRecord on_a_part(double part) {
  NoticeRecord out = crossing();
  VolumeView& volume = out.notice.volume;
  volume.feed_ratio = part;
  volume.normal = Shares{std::llround(static_cast<double>(volume.normal.micros) * part)};
  for (double* shares : {&volume.projected, &volume.low, &volume.high}) *shares *= part;
  return out;
}

// A crossing that was held back stands in the journal; nobody heard of it, and so nobody could buy by it.
TEST(Review, does_not_take_a_crossing_that_was_held_back_for_one_that_was_told) {
  NoticeRecord held = crossing();
  held.notice.held = true;
  const Review out = review(input_of({held}, calm_days()));
  EXPECT_TRUE(out.crossings.empty());
  EXPECT_EQ(out.notices, 0);
  EXPECT_TRUE(out.troubles.empty()) << "nor was it missed";
  EXPECT_THAT(flat(in_words(out)), HasSubstr("0 notices, 0 crossings, 1 held back for a falling market."));
}

TEST(Review, takes_the_feeds_own_count_as_it_is_where_there_is_no_bar) {
  ReviewInput input = input_of({on_a_part(0.5)}, {});
  input.days[{"KLVN", kDay}] = counted(600'000, price(53));
  const Crossing one = review(input).crossings.at(0);
  EXPECT_FALSE(one.official);
  EXPECT_DOUBLE_EQ(*one.volume, 600'000);
  EXPECT_DOUBLE_EQ(*one.surge, 20) << "a normal day has 500,000 of this feed's shares";
  EXPECT_FALSE(*one.came);
  EXPECT_EQ(one.closed, Side::over);
}

TEST(Review, brings_the_daily_bar_to_the_shares_of_a_feed_that_carries_a_part_of_the_tape) {
  auto bars = calm_days();
  for (const auto& [traded, surge] : {std::pair(1e6, 0.0), {1.5e6, 50.0}}) {
    bars[1].volume = traded;
    const Crossing one = review(input_of({on_a_part(0.3)}, bars)).crossings.at(0);
    EXPECT_TRUE(one.official);
    EXPECT_NEAR(*one.volume, 0.3 * traded, 1e-6);
    EXPECT_NEAR(*one.surge, surge, 1e-9);
    EXPECT_EQ(*one.came, surge > 40);
    EXPECT_EQ(one.in_interval, surge > 40) << "1.4 to 1.9 million of the market was said";
  }
}

TEST(Review, says_what_was_said_and_what_came_in_the_same_shares_and_which) {
  auto bars = calm_days();
  bars[1].volume = 1e6;
  ReviewInput input = input_of({on_a_part(0.3)}, bars);
  const std::string part = "counted on a feed that carries about 30.0 % of the market";
  const Review of_bars = review(input);
  EXPECT_THAT(flat(in_words(of_bars)),
              HasSubstr("said 480k (420k-570k), came 300k, +0 %: did not reach the +40 % needed " + part +
                        "; the whole market had 1.00M "));
  EXPECT_THAT(to_html(of_bars, input, no_pictures()),
              HasSubstr("said 480k (420k-570k), came 300k, +0 %: did not reach the +40 % needed</p>\n<p "
                        "class=\"small\">volumes are " +
                        part + "; the whole market had 1.00M</p>"));
  const auto json = Json::parse(to_json(of_bars)).at("crossings").at(0);
  EXPECT_EQ(json.at("volume"), 300'000);
  EXPECT_EQ(json.at("projected_volume"), 480'000);
  EXPECT_EQ(json.at("feed_ratio"), 0.3);
  input.bars.clear();
  input.days[{"KLVN", kDay}] = counted(300'000, price(51));
  EXPECT_THAT(flat(in_words(review(input))),
              HasSubstr("came 300k by the feed's own count, +0 %: did not reach the +40 % needed " + part + " closed"));
}

TEST(Review, says_nothing_of_feeds_where_the_whole_tape_is_counted) {
  const ReviewInput input = input_of({crossing()}, calm_days());
  const Review out = review(input);
  EXPECT_THAT(flat(in_words(out)), Not(HasSubstr("of the market")));
  EXPECT_THAT(to_html(out, input, no_pictures()), Not(HasSubstr("of the market")));
  EXPECT_FALSE(Json::parse(to_json(out)).at("crossings").at(0).contains("feed_ratio"));
}

TEST(Review, does_not_judge_by_the_count_of_a_feed_whose_part_of_the_tape_is_not_known) {
  NoticeRecord said = crossing(Weight::unknown, 0);
  said.notice.volume.why_not = NoJudgement::ratio_unknown;
  ReviewInput input = input_of({said}, calm_days());
  EXPECT_DOUBLE_EQ(*review(input).crossings.at(0).surge, 50) << "bar and normal volume are both of the whole tape";
  input.bars.clear();
  input.days[{"KLVN", kDay}] = counted(300'000, price(51));
  const Crossing one = review(input).crossings.at(0);
  EXPECT_DOUBLE_EQ(*one.volume, 300'000);
  EXPECT_FALSE(one.surge.has_value());
  EXPECT_FALSE(one.came.has_value());
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
  const std::string words = flat(in_words(out)), page = to_html(out, input, no_pictures());
  EXPECT_THAT(words, HasSubstr("2026-03-02 15:00:00 KLVN crossed, pivot 50.00 at 50.20; heavy, odds 0.90"));
  EXPECT_THAT(words, HasSubstr("came 1.50M, +50 %: reached the +40 % needed"));
  EXPECT_THAT(words, HasSubstr("not advice"));
  EXPECT_THAT(page, Not(HasSubstr("<script>")));
  EXPECT_THAT(page, HasSubstr("&lt;script&gt;"));
  const auto json = Json::parse(to_json(out));
  EXPECT_EQ(json["crossings"][0]["pivot"], "50.00");
  EXPECT_EQ(json["crossings"][0]["came"], true);
  EXPECT_EQ(json["weights"][0]["came"], 1);
}

TEST(Review, of_a_quiet_day_says_so) {
  const std::string words = in_words(review(input_of({}, calm_days())));
  EXPECT_THAT(words, HasSubstr("0 notices, 0 crossings"));
  EXPECT_THAT(words, HasSubstr("nothing was missed"));
}

}  // namespace
}  // namespace brimwatch
