#include "live/evening_clock.h"

#include <gtest/gtest.h>

#include "support/new_york.h"

namespace brimwatch {
namespace {

using test::kThanksgivingEve;
using test::new_york_time;

struct EveningDue : ::testing::Test {
  std::shared_ptr<const Calendar> calendar = *Calendar::load("XNYS", {});
  EveningSettings settings{"18:00", {}, 90};
  EveningClock clock;
  std::optional<Date> due(Date day, int hour, int minute) {
    return clock.due(new_york_time(day, hour, minute), *calendar, settings);
  }
};

TEST_F(EveningDue, comes_once_a_day_from_its_time_on) {
  EXPECT_EQ(due(kThanksgivingEve, 17, 59), std::nullopt);
  EXPECT_EQ(due(kThanksgivingEve, 18, 0), kThanksgivingEve);
  EXPECT_EQ(due(kThanksgivingEve, 18, 0), std::nullopt);
  EXPECT_EQ(due(kThanksgivingEve, 23, 59), std::nullopt);
  EXPECT_EQ(due(kThanksgivingEve + 1, 18, 0), std::nullopt) << "Thanksgiving: no session, no review";
  EXPECT_EQ(due(kThanksgivingEve + 2, 18, 0), kThanksgivingEve + 2);
}

TEST_F(EveningDue, does_not_come_before_the_session_has_been_over_for_a_while) {
  settings.review_at = "12:00";
  EXPECT_EQ(due(kThanksgivingEve, 16, 14), std::nullopt);
  EXPECT_EQ(due(kThanksgivingEve, 16, 15), kThanksgivingEve);
  EXPECT_EQ(due(kThanksgivingEve + 2, 13, 14), std::nullopt) << "closes at 13:00";
  EXPECT_EQ(due(kThanksgivingEve + 2, 13, 15), kThanksgivingEve + 2);
}

TEST_F(EveningDue, is_off_without_a_time) {
  settings.review_at.clear();
  EXPECT_EQ(due(kThanksgivingEve, 23, 0), std::nullopt);
}

}  // namespace
}  // namespace brimwatch
