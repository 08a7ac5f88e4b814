#include "live/signs_of_life.h"

#include <gmock/gmock.h>

#include "config/watches.h"
#include "support/new_york.h"

namespace brimwatch {
namespace {

using test::kThanksgivingEve;
using test::new_york_time;
using testing::HasSubstr;
using testing::StartsWith;

constexpr Date kHalfDay = Date::of(2026, 11, 27);  // the day after Thanksgiving: 13:00 (NYSE's published calendar)

std::unique_ptr<Desk> desk() {
  Settings settings;
  for (const char* symbol : {"KLVN", "ORRJ"}) {
    Watch watch;
    watch.symbol = symbol;
    watch.pivot = Price{48'350'000};
    set_levels(watch);
    if (settings.watches.empty()) watch.normal_volume = Shares::whole(1'300'000);
    settings.watches.push_back(watch);
  }
  return Desk::open(std::move(settings)).value();
}

FeedRow feed(const char* state) {
  FeedRow row;
  row.name = "tape";
  row.state = state;
  return row;
}

TEST(Morning, IsBetweenItsTimeAndTheOpenOfADayThatTrades) {
  const auto calendar = Calendar::load("XNYS", {}).value();
  EXPECT_FALSE(is_morning("09:00", *calendar, new_york_time(kThanksgivingEve, 8, 59)));
  EXPECT_TRUE(is_morning("09:00", *calendar, new_york_time(kThanksgivingEve, 9, 0)));
  EXPECT_TRUE(is_morning("09:00", *calendar, new_york_time(kThanksgivingEve, 9, 29)));
  EXPECT_FALSE(is_morning("09:00", *calendar, new_york_time(kThanksgivingEve, 9, 30)));
  EXPECT_FALSE(is_morning("09:00", *calendar, new_york_time(kThanksgivingEve + 1, 9, 10))) << "Thanksgiving";
  EXPECT_FALSE(is_morning("", *calendar, new_york_time(kThanksgivingEve, 9, 10))) << "nobody asked for it";
}

TEST(Morning, SaysWhatIsReady) {
  const auto line = morning_line(*desk(), {feed("up")}, "", new_york_time(kThanksgivingEve, 9, 0));
  EXPECT_EQ(line,
            "all is ready for today, a full day, 09:30 to 16:00; 2 pivots of 2 symbols; feed tape up; normal volumes: 1 "
            "as given, 1 unknown (ORRJ)");
}

TEST(Morning, SaysFirstWhatIsNot) {
  const auto line = morning_line(*desk(), {feed("down")}, "disk full", new_york_time(kHalfDay, 9, 0));
  EXPECT_THAT(line,
              StartsWith("not ready: feed tape is not up, notices are not kept; today is a half day, 09:30 to 13:00"));
}

TEST(Morning, SaysAtTheEndWhoWillTellNothing) {
  Settings settings;
  settings.market.trend = Trend::down;
  settings.market.when_down = WhenDown::hold_back;
  for (const char* symbol : {"KLVN", "ORRJ"}) {
    Watch watch;
    watch.symbol = symbol;
    watch.pivot = Price{48'350'000};
    watch.normal_volume = Shares::whole(1'300'000);
    set_levels(watch);
    if (settings.watches.empty()) watch.until = kThanksgivingEve + -1;
    settings.watches.push_back(watch);
  }
  const auto held = Desk::open(std::move(settings)).value();
  EXPECT_THAT(
      morning_line(*held, {feed("up")}, "", new_york_time(kThanksgivingEve, 9, 0)),
      testing::EndsWith("; no crossing notices today for KLVN (not in force), KLVN, ORRJ (held back while the market "
                        "is down)"));
}

}  // namespace
}  // namespace brimwatch
