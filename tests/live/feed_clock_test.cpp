#include "live/feed_clock.h"

#include <gtest/gtest.h>

#include "support/new_york.h"

namespace brimwatch {
namespace {

using test::kTen;

TEST(FeedClock, GoesOnBetweenTicks) {
  FeedClock clock;
  EXPECT_FALSE(clock.is_set());
  clock.see(kTen, {}, 5 * kSecond);
  EXPECT_EQ(clock.now(7 * kSecond), kTen + 2 * kSecond);
  clock.see(kTen - kMinute, {}, 8 * kSecond);
  EXPECT_EQ(clock.now(8 * kSecond), kTen + 3 * kSecond) << "a late print neither sets it back nor holds it";
  for (int i = 9; i < 900; ++i) clock.see(kTen, {}, i * kSecond);  // snapshots after the last trade of the day
  EXPECT_EQ(clock.now(900 * kSecond), kTen + 895 * kSecond);
}

/// Found by the simulation's market: with our own clock an hour slow such a print passes the screen.
TEST(FeedClock, OnePrintOfTomorrowDoesNotEndTheDay) {
  FeedClock clock;
  clock.see(kTen, {}, 0);
  EXPECT_EQ(clock.see(kTen + kDayNanos, {}, kSecond), FeedClock::Seen::doubted);
  EXPECT_EQ(clock.see(kTen + 2 * kSecond, {}, 2 * kSecond), FeedClock::Seen::in_time);
  clock.see(kTen + kDayNanos, {}, 3 * kSecond);
  EXPECT_EQ(clock.now(3 * kSecond), kTen + 3 * kSecond);
}

/// Found by the simulation: the first print after a restart, dated in the evening, ended the day in mid-session.
TEST(FeedClock, NorDoesTheFirstOne) {
  FeedClock clock;
  clock.see(kTen + 8 * kHour, kTen, kSecond);
  EXPECT_FALSE(clock.is_set());
  clock.see(kTen, kTen + kSecond, 2 * kSecond);
  EXPECT_EQ(clock.now(2 * kSecond), kTen);
}

TEST(FeedClock, WhereOursIsSlowTheThirdIsBelieved) {
  FeedClock clock;
  for (int i = 0; i < 3; ++i) clock.see(kTen + kHour + i * kSecond, kTen + i * kSecond, i * kSecond);
  EXPECT_EQ(clock.now(2 * kSecond), kTen + kHour + 2 * kSecond);
}

/// A recorded day that comes through a pipe, of stocks that trade every ten minutes.
TEST(FeedClock, WhereTheFeedIsBehindOursAGapInItIsNoLeap) {
  using Seen = FeedClock::Seen;
  const Nanos late = 40 * 24 * kHour;
  FeedClock clock;
  for (int i = 0; i < 4; ++i) clock.see(kTen - late, kTen, 0);
  for (int gap = 1; gap <= 3; ++gap) {
    const Nanos now = gap * kSecond;
    const Timestamp time = kTen - late + gap * 10 * kMinute;
    EXPECT_EQ(clock.see(time, kTen + now, now), Seen::doubted) << gap;
    EXPECT_EQ(clock.see(time, kTen + now, now), Seen::doubted) << gap;
    EXPECT_EQ(clock.see(time, kTen + now, now), Seen::confirmed) << gap;
  }
}

TEST(FeedClock, AfterASleepOfTheComputerTheThirdTickIsBelieved) {
  FeedClock clock;
  clock.see(kTen, {}, 0);
  EXPECT_EQ(clock.see(kTen + 8 * kHour, {}, kSecond), FeedClock::Seen::doubted);
  EXPECT_EQ(clock.see(kTen + 8 * kHour, {}, 2 * kSecond), FeedClock::Seen::doubted);
  EXPECT_EQ(clock.see(kTen + 8 * kHour, {}, 3 * kSecond), FeedClock::Seen::confirmed) << "and the two before it with it";
  EXPECT_EQ(clock.see(kTen + 8 * kHour + kSecond, {}, 4 * kSecond), FeedClock::Seen::in_time);
  EXPECT_EQ(clock.now(4 * kSecond), kTen + 8 * kHour + kSecond);
}

/// Found by living with it: a source that begins with the last trades of seldom traded stocks, of twenty minutes ago, had
/// the trades of now held back and, where older ones came between them, lost.
TEST(FeedClock, WhatOurClockBearsOutIsBelievedAtOnceAfterOldTrades) {
  using Seen = FeedClock::Seen;
  FeedClock clock;
  EXPECT_EQ(clock.see(kTen - 20 * kMinute, kTen, 0), Seen::in_time);
  EXPECT_EQ(clock.see(kTen, kTen, kSecond), Seen::leapt);
  EXPECT_EQ(clock.see(kTen - kHour, kTen, kSecond), Seen::behind);
  EXPECT_EQ(clock.now(kSecond), kTen);
}

TEST(FeedClock, EachOfAStartsOldTradesIsTakenInWhateverOrder) {
  FeedClock clock;
  for (const int minutes : {95, 50, 94, 20, 60, 3, 0}) {
    const auto seen = clock.see(kTen - minutes * kMinute, kTen, kSecond);
    EXPECT_NE(seen, FeedClock::Seen::doubted) << minutes << " minutes old";
  }
  EXPECT_EQ(clock.now(kSecond), kTen);
}

TEST(FeedClock, WhereTheFeedIsBehindOursOnePrintOfNowIsDoubted) {
  using Seen = FeedClock::Seen;
  const Nanos late = 15 * kMinute;
  FeedClock clock;
  for (int i = 0; i < 5; ++i) clock.see(kTen - late + i * kSecond, kTen + i * kSecond, i * kSecond);
  EXPECT_EQ(clock.see(kTen + 5 * kSecond, kTen + 5 * kSecond, 5 * kSecond), Seen::doubted);
  EXPECT_EQ(clock.see(kTen - kHour, kTen + 6 * kSecond, 6 * kSecond), Seen::behind) << "which says nothing of it";
  EXPECT_EQ(clock.see(kTen - late + 6 * kSecond, kTen + 6 * kSecond, 6 * kSecond), Seen::in_time);
  EXPECT_EQ(clock.now(6 * kSecond), kTen - late + 6 * kSecond);
}

TEST(FeedClock, AfterASleepOfTheComputerALiveFeedIsBelievedAtOnce) {
  FeedClock clock;
  clock.see(kTen, kTen, 0);
  EXPECT_EQ(clock.see(kTen + 8 * kHour, kTen + 8 * kHour, kSecond), FeedClock::Seen::leapt);
}

TEST(FeedClock, APlayedDayGoesOnAtItsSpeedOnceItsSourceIsThrough) {
  FeedClock clock;
  clock.set_speed(60);
  clock.see(kTen, {}, 0);
  EXPECT_EQ(clock.now(4 * kSecond), kTen + 4 * kSecond) << "a source that stutters ends no day";
  EXPECT_EQ(clock.now(65 * kSecond), kTen + 5 * kSecond + kHour);
}

}  // namespace
}  // namespace brimwatch
