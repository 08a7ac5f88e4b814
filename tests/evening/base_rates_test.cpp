// Base rates: of the user's own bars by hand, and the panel's where these are few.
#include "evening/base_rates.h"

#include <gmock/gmock.h>

#include "core/text/json.h"
#include "crossings/odds.h"
#include "record.h"

namespace brimwatch {
namespace {

using testing_support::crossing;
using testing_support::flat;
using testing_support::input_of;
using testing_support::kDay;
using testing_support::no_pictures;
using testing_support::price;

/// Weekdays that end on the Friday of kDay's week, then `more`. A high of 51 twenty days before the end makes the pivot
/// 51.10, which the Wednesday of kDay's week crosses, closing at `close`, with `volume`.
std::vector<DailyBar> stock(double close, double volume, int more = 0) {
  std::vector<DailyBar> out;
  for (Date day = kDay - 100; day <= kDay + 4 + more; day = day + 1) {
    if (day.weekday() == std::chrono::Saturday || day.weekday() == std::chrono::Sunday) continue;
    out.push_back({day, price(50), price(50.5), price(49.5), price(50), 1e6});
    if (day == kDay - 28) out.back().high = price(51);
    if (day == kDay + 2) out.back() = {day, price(50.2), price(51.5), price(50), price(close), volume};
  }
  return out;
}

TEST(BaseRates, count_the_plain_highs_of_the_same_weeks) {
  PlainCrossings plain(kDay + 1, kDay + 1, 0.1);
  for (int i = 0; i < 40; ++i) plain.add(stock(i < 30 ? 51.2 : 50.4, i < 10 ? 1.5e6 : 1e6));
  const BaseRates rates = plain.rates(2);
  EXPECT_TRUE(rates.own);
  EXPECT_EQ(rates.crossings, 40);
  EXPECT_DOUBLE_EQ(rates.held, 0.75);
  EXPECT_DOUBLE_EQ(rates.surge, 0.25);
  ASSERT_TRUE(rates.following);
  EXPECT_EQ(rates.following->purchases, 40);
  // Thursday and Friday closed at 50: they are open, and stand at that.
  EXPECT_NEAR(rates.following->mean, 100 * (50 * 0.999 / (51.1 * 1.001) - 1), 1e-9);
  EXPECT_EQ(rates.following->won, 0);
  EXPECT_THAT(rates.from, ::testing::HasSubstr("your own bars in the same weeks, 40 crossings of 40 stocks"));
  // What came within sixty sessions is not known of these: the panel's rates stand in.
  EXPECT_DOUBLE_EQ(rates.up20, kShippedUp20.at(2));
}

TEST(BaseRates, leave_out_the_weeks_before_and_after) {
  PlainCrossings before(kDay - 7, kDay - 3, 0.1), after(kDay + 7, kDay + 7, 0.1);
  before.add(stock(51.2, 1e6, 10));
  after.add(stock(51.2, 1e6, 10));
  EXPECT_EQ(before.crossings(), 0);
  EXPECT_EQ(after.crossings(), 0);
}

TEST(BaseRates, of_few_own_crossings_are_the_panels) {
  PlainCrossings plain(kDay, kDay, 0.1);
  for (int i = 0; i < 5; ++i) plain.add(stock(51.2, 1e6));
  const BaseRates rates = plain.rates(2);
  EXPECT_FALSE(rates.own);
  EXPECT_DOUBLE_EQ(rates.held, 0.54);
  EXPECT_DOUBLE_EQ(*rates.best, 7.6);
  EXPECT_DOUBLE_EQ(*rates.worst, -6);
  EXPECT_FALSE(rates.following.has_value());
  EXPECT_FALSE(plain.rates(0).best.has_value()) << "no ordinary move is known";
}

TEST(BaseRates, stand_beside_every_result_in_words_json_and_page) {
  ReviewInput input = input_of({crossing()}, testing_support::calm_days());
  input.base_rates = panel_rates(2);
  const Review out = review(input);
  const std::string words = flat(in_words(out));
  EXPECT_THAT(words, ::testing::HasSubstr("volume wanted came in 1 of 1 (100 %, likely 21 to 100); base rate 30 %"));
  EXPECT_THAT(words,
              ::testing::HasSubstr("closed at or above the pivot: 1 of 1 (100 %, likely 21 to 100); base rate 54 %"));
  EXPECT_THAT(words, ::testing::HasSubstr(
                         "the next 20 sessions of 1: best +7.6 %, worst +0.6 % (medians); base rate +7.6 %, -6.0 %"));
  EXPECT_THAT(words, ::testing::HasSubstr("base rates: plain 50-day highs of 501 large US stocks"));
  EXPECT_THAT(to_html(out, input, no_pictures()), ::testing::HasSubstr("base rate 54 %"));
  EXPECT_EQ(Json::parse(to_json(out))["base_rates"]["held_pivot"], 0.54);
}

TEST(Review, says_which_came_first_and_knows_when_that_is_not_known_yet) {
  auto bars = testing_support::calm_days();
  EXPECT_FALSE(review(input_of({crossing()}, bars)).crossings.at(0).first.has_value());
  bars[6].high = price(60.3);
  EXPECT_EQ(review(input_of({crossing()}, bars)).crossings.at(0).first, CameFirst::up20);
  bars[6].low = price(46);
  EXPECT_EQ(review(input_of({crossing()}, bars)).crossings.at(0).first, CameFirst::down8) << "both on one day";
}

}  // namespace
}  // namespace brimwatch
