#include "history/clock.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

/// New York time on a day of November 2026, when it is five hours behind UTC; the 26th is a holiday, the 27th a half day.
Timestamp at(unsigned day, int hour, int minute = 0) {
  return Timestamp{Date::of(2026, 11, day).days * kDayNanos + (hour + 5) * kHour + minute * kMinute};
}

class FetchClock : public testing::Test {
 protected:
  std::optional<Date> due(Timestamp now) { return clock_.due(now, *calendar_, 30 * kMinute); }
  std::shared_ptr<const Calendar> calendar_ = *Calendar::load("XNYS", {});
  HistoryClock clock_;
};

TEST_F(FetchClock, TheNewestSessionIsOverHalfAnHourAfterItsClose) {
  EXPECT_EQ(last_session_over(*calendar_, at(25, 16, 29), 30 * kMinute), Date::of(2026, 11, 24));
  EXPECT_EQ(last_session_over(*calendar_, at(25, 16, 30), 30 * kMinute), Date::of(2026, 11, 25));
  EXPECT_EQ(last_session_over(*calendar_, at(27, 13, 0), 30 * kMinute), Date::of(2026, 11, 25));
  EXPECT_EQ(last_session_over(*calendar_, at(27, 13, 30), 30 * kMinute), Date::of(2026, 11, 27)) << "a half day";
  EXPECT_EQ(last_session_over(*calendar_, at(29, 12), 30 * kMinute), Date::of(2026, 11, 27)) << "a Sunday";
}

TEST_F(FetchClock, ItFetchesAtTheStartAndOnceAfterEachClose) {
  EXPECT_EQ(due(at(25, 10)), Date::of(2026, 11, 24));
  clock_.done(at(25, 10), true);
  EXPECT_FALSE(due(at(25, 16, 29)));
  EXPECT_EQ(due(at(25, 16, 30)), Date::of(2026, 11, 25));
  clock_.done(at(25, 16, 31), true);
  EXPECT_FALSE(due(at(27, 9)));
}

TEST_F(FetchClock, WhatFailedIsTriedEveryHalfHourTwelveTimesAndBeforeTheOpenAgain) {
  int tries = 0;
  Timestamp now = at(24, 16, 30);
  for (; now < at(25, 8, 29); now = now + kMinute) {
    if (!due(now)) continue;
    ++tries;
    clock_.done(now, false);
  }
  EXPECT_EQ(tries, 12);
  EXPECT_TRUE(due(at(25, 8, 30))) << "an hour before the open";
  clock_.done(at(25, 8, 30), true);
  EXPECT_FALSE(due(at(25, 9, 15)));
}

TEST_F(FetchClock, WhatIsNewIsFetchedAtOnce) {
  ASSERT_TRUE(due(at(25, 10)));
  clock_.done(at(25, 10), true);
  clock_.ask_anew();
  EXPECT_EQ(due(at(25, 10, 1)), Date::of(2026, 11, 24));
}

}  // namespace
}  // namespace brimwatch
