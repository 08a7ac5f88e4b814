// One line of a review retraced: the numbers lead to the figure, and those of the tape stand at the beginning.
#include "evening/text/why.h"

#include <gmock/gmock.h>

#include "record.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;
using testing_support::bar;
using testing_support::calm_days;
using testing_support::crossing;
using testing_support::flat;
using testing_support::input_of;
using testing_support::kDay;
using testing_support::price;

std::string why(const ReviewInput& input, const TradesAround& trades = {}) {
  return flat(why_in_words(review(input).crossings.at(0), input, trades));
}

TEST(Why, leads_from_the_days_volume_to_the_surge_and_from_the_sale_to_the_result) {
  auto bars = calm_days();
  bars[4] = bar(kDay + 3, 47, 47.5, 45, 45.5);
  const std::string text = why(input_of({crossing()}, bars));
  EXPECT_THAT(text, HasSubstr("KLVN, 2026-03-02, notice 2026-03-02/KLVN/50.00/crossed/1"));
  EXPECT_THAT(text, HasSubstr("pivot 50.00, range to 52.50, loss limit 46.00"));
  EXPECT_THAT(text, HasSubstr("daily bar 2026-03-02: open 49.30, high 51.50, low 49.10, close 51.00, volume 1500000"));
  EXPECT_THAT(text, HasSubstr("surge 1500000, / normal 1000000 - 1 = +50.0 %; needed +40 %: reached"));
  EXPECT_THAT(text, HasSubstr("2026-03-05: open 47.00, high 47.50, low 45.00, close 45.50"));
  EXPECT_THAT(text, HasSubstr("sold at the loss limit, 46.00 on 2026-03-05"));
  EXPECT_THAT(text, HasSubstr("result 46.00 less 0.10 %, / 50.20 and 0.10 %, - 1 = -8.55 %"));
}

TEST(Why, says_how_the_market_was_brought_to_the_feeds_shares) {
  NoticeRecord part = crossing();
  part.notice.volume.feed_ratio = 0.25;
  part.notice.volume.normal = Shares::whole(250'000);
  EXPECT_THAT(why(input_of({part}, calm_days())),
              HasSubstr("surge 1500000 x 25.0 % that the feed carries = 375000, / normal 250000"));
}

TEST(Why, shows_the_trades_of_the_tape_round_the_notice) {
  const NoticeRecord said = crossing();
  Tick before, own;
  before.time = said.notice.time + -kSecond, before.price = price(49.9), before.size = Shares::whole(300);
  own.time = said.notice.time, own.price = price(50.2), own.size = Shares::whole(200),
  own.conditions = Conditions::of("F");
  const std::string text = why(input_of({said}, calm_days()), {before, own});
  EXPECT_THAT(text, HasSubstr("tape 14:59:59 49.90 x 300"));
  EXPECT_THAT(text, HasSubstr("tape 15:00:00 50.20 x 200, conditions F <- the notice's"));
}

}  // namespace
}  // namespace brimwatch
