// New York trades from 9:30 to 16:00 on weekdays, to 13:00 on the day after Thanksgiving
// (https://www.nyse.com/markets/hours-calendars).
#include "live/upkeep_clock.h"

#include <gtest/gtest.h>

#include "support/new_york.h"

namespace brimwatch {
namespace {

using test::new_york;

bool is_due(UpkeepClock& clock, const char* when) { return clock.due(*parse_rfc3339(when), new_york()); }

TEST(UpkeepClock, OnceADayAndNotWhileItTrades) {
  UpkeepClock clock;
  EXPECT_FALSE(is_due(clock, "2026-11-25T08:30:00-05:00")) << "an hour before the open";
  EXPECT_FALSE(is_due(clock, "2026-11-25T12:00:00-05:00"));
  EXPECT_FALSE(is_due(clock, "2026-11-25T16:59:59-05:00"));
  EXPECT_TRUE(is_due(clock, "2026-11-25T17:00:00-05:00"));
  EXPECT_FALSE(is_due(clock, "2026-11-25T23:59:59-05:00")) << "done";
  EXPECT_TRUE(is_due(clock, "2026-11-26T00:00:01-05:00"));
  EXPECT_FALSE(is_due(clock, "2026-11-26T12:00:00-05:00")) << "a holiday, and done";
}

TEST(UpkeepClock, OnDaysWithoutASessionAtAnyTime) {
  UpkeepClock clock;
  EXPECT_TRUE(is_due(clock, "2026-11-28T12:00:00-05:00")) << "Saturday";
}

TEST(UpkeepClock, AfterAHalfDayEarlier) {
  UpkeepClock clock;
  EXPECT_TRUE(is_due(clock, "2026-11-27T14:00:00-05:00"));
}

}  // namespace
}  // namespace brimwatch
