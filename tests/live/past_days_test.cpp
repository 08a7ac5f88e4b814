// What comes of a day that is over: which day is now is for our clock to say. New York trades from 9:30 to 16:00 on
// weekdays (https://www.nyse.com/markets/hours-calendars); 2026-10-16 is a Friday (ISO 8601).
#include "house_rig.h"

namespace brimwatch::simulation {
namespace {

using testing::HasSubstr;

const Timestamp kFridayNoon = *parse_rfc3339("2026-10-16T12:00:00-04:00");
const Timestamp kSundayNoon = *parse_rfc3339("2026-10-18T12:00:00-04:00");
const Timestamp kMondayMorning = *parse_rfc3339("2026-10-19T08:30:00-04:00");
const Timestamp kMondayOpen = *parse_rfc3339("2026-10-19T09:30:00-04:00");

struct PastDays : HouseRig {
  void SetUp() override { begin_at(kSundayNoon); }
  void begin_at(Timestamp when) {
    time.run_until(when);
    open();
    house->restore({});
    begin();
    pass(kSecond);
  }
  void change(Settings& settings) override { settings.feeds.back().past_days = past_days; }

  void send(const char* symbol, const char* price, Timestamp of) {
    Tick tick;
    tick.symbol = symbols->find(symbol);
    tick.time = of;
    tick.received = time.wall();
    tick.price = *parse_price(price);
    tick.size = Shares::whole(100);
    tick.exchange = 'N';
    tick.id = ++last_id;
    listener->on_ticks({&tick, 1});
  }
  /// Friday's tape, in a burst: under, over the pivot, and back, again and again.
  void send_friday() {
    for (int i = 0; i < 1200; ++i)
      send(i % 2 == 0 ? "KLVN" : "ORRI", i / 2 % 2 == 0 ? "19.80" : "20.05", kFridayNoon + i * kSecond);
  }
  [[nodiscard]] std::size_t kept_of(NoticeKind kind) const {
    const auto& notices = keeper.kept.notices;
    return static_cast<std::size_t>(
        std::count_if(notices.begin(), notices.end(), [&](const auto& one) { return one.notice.kind == kind; }));
  }
  [[nodiscard]] std::string detail_of(NoticeKind kind) const {
    for (const NoticeRecord& record : keeper.kept.notices)
      if (record.notice.kind == kind) return record.notice.detail;
    return "";
  }
  [[nodiscard]] std::uint64_t left_out() const {
    const Snapshot now = house->snapshot();
    for (const auto& [name, count] : now.feeds.at(0).recognised)
      if (name == "of_past_days") return count;
    return 0;
  }

  std::string past_days = "leave-out";
};

TEST_F(PastDays, OfFridayOnSundayOpenNoSessionAndTellNothing) {
  send_friday();
  pass(kMinute);
  EXPECT_EQ(left_out(), 1200U) << "counted, not lost from sight";
  EXPECT_TRUE(keeper.kept.notices.empty());
  EXPECT_TRUE(keeper.kept.days.empty());
  EXPECT_TRUE(keeper.kept.watches.empty());
  EXPECT_EQ(house->engine_now(), time.wall());
  EXPECT_TRUE(house->is_well()) << "nothing trades, and so nothing is amiss";
  EXPECT_EQ(house->snapshot().ticks, 0U);
}

TEST_F(PastDays, SentAgainOnMondayTheyDoNotHideThatTheFeedIsSilent) {
  time.run_until(kMondayMorning);
  send_friday();
  time.run_until(kMondayOpen);
  while (time.truth() < kMondayOpen + 3 * kMinute) send("KLVN", "20.05", kFridayNoon), pass(kSecond);
  EXPECT_EQ(kept_of(NoticeKind::feed_silent), 1U);
  EXPECT_THAT(detail_of(NoticeKind::feed_silent), HasSubstr("what comes is of 2026-10-16, a day that is over"));
  EXPECT_EQ(times_kept("KLVN"), 0U);
  EXPECT_FALSE(house->is_well());
}

/// A source begins with the last trade of each stock: of one that trades seldom it is old, and no reason to hold those of
/// now back.
TEST_F(PastDays, AnOldTradeAtTheStartHoldsNoneOfNowBack) {
  time.run_until(kMondayOpen + kHour);
  send("ORRI", "49.50", kMondayOpen + 20 * kMinute);
  send("KLVN", "19.80", time.wall());
  pass(kSecond);
  send("KLVN", "20.05", time.wall());
  pass(kSecond);
  ASSERT_EQ(times_kept("KLVN"), 1U);
  EXPECT_EQ(keeper.kept.notices.at(0).notice.volume.missed_minutes, 0) << "we were here since before the open";
}

struct StartedInSession : PastDays {
  void SetUp() override { begin_at(kMondayOpen + kHour); }
};

TEST_F(StartedInSession, TheTimeFromAnOldTradeToTheStartWasNotHeard) {
  send("ORRI", "49.50", kMondayOpen + 20 * kMinute);
  send("KLVN", "19.80", time.wall());
  send("KLVN", "20.05", time.wall());
  pass(kSecond);
  ASSERT_EQ(times_kept("KLVN"), 1U);
  EXPECT_EQ(keeper.kept.notices.at(0).notice.volume.missed_minutes, 60) << "neither before it nor after it";
}

/// A machine whose clock has no battery begins with the time of its last shutdown, and is set right a moment later.
struct StartedWithAnOldClock : PastDays {
  void SetUp() override {
    time.set_wrong_by(-kDayNanos);
    begin_at(kMondayOpen + kHour);
  }
};

TEST_F(StartedWithAnOldClock, WhatWasBeforeTheStartWasNotHeardWhateverTheClockSaid) {
  pass(20 * kSecond);
  time.set_wrong_by(0);
  pass(kSecond);
  send("KLVN", "19.80", time.wall());
  send("KLVN", "20.05", time.wall());
  pass(kSecond);
  ASSERT_EQ(times_kept("KLVN"), 1U);
  const NoticeRecord& crossed = *std::find_if(keeper.kept.notices.begin(), keeper.kept.notices.end(),
                                              [](const auto& one) { return one.symbol == "KLVN"; });
  EXPECT_NEAR(crossed.notice.volume.missed_minutes, 60, 1);
}

TEST_F(PastDays, MondaysOwnTradesAreToldAsEver) {
  send_friday();
  time.run_until(kMondayOpen + 30 * kMinute);
  send_friday();
  trade("KLVN", "19.80");
  send_friday();  // between them too
  trade("KLVN", "20.05");
  pass(10 * kSecond);
  EXPECT_EQ(times_sent("KLVN crossed"), 1U);
  EXPECT_LT(time.wall() - house->engine_now(), kMinute);
  EXPECT_EQ(left_out(), 3600U);
}

TEST_F(PastDays, ATradeOfThisMorningIsOfToday) {
  time.run_until(kMondayOpen + 5 * kHour);
  send("KLVN", "19.80", kMondayOpen + kMinute);
  send("KLVN", "20.05", kMondayOpen + kMinute + kSecond);
  pass(10 * kSecond);
  EXPECT_EQ(left_out(), 0U);
  EXPECT_EQ(times_kept("KLVN"), 1U) << "kept, and told as old data";
}

// A quarter of an hour behind, over midnight: 23:50 comes at 00:05.
TEST_F(PastDays, ADelayedFeedIsOfThePresentOverMidnight) {
  const Timestamp after_midnight = *parse_rfc3339("2026-10-20T00:05:00-04:00");
  time.run_until(after_midnight);
  send("KLVN", "19.80", after_midnight - 15 * kMinute);
  EXPECT_EQ(left_out(), 0U);
  send("KLVN", "19.80", after_midnight - 2 * kDayNanos);  // over by our clock, and by the feed's own
  EXPECT_EQ(left_out(), 1U);
}

TEST_F(PastDays, AHoleThatEndsTodayIsOfToday) {
  time.run_until(kMondayOpen + 30 * kMinute);
  trade("KLVN", "19.80");
  Tick hole;
  hole.kind = TickKind::hole;
  hole.time = kFridayNoon;
  hole.received = time.wall();
  listener->on_ticks({&hole, 1});
  EXPECT_EQ(left_out(), 0U);
  hole.received = kFridayNoon + kMinute;
  listener->on_ticks({&hole, 1});
  EXPECT_EQ(left_out(), 1U);
}

// Our clock jumps by a day while the exchange trades: the feed's own goes on, and nothing is lost.
TEST_F(PastDays, AClockThatJumpsByADayTakesNothingAway) {
  time.run_until(kMondayOpen + 30 * kMinute);
  trade("KLVN", "19.80");
  pass(5 * kSecond);
  time.set_wrong_by(kDayNanos);
  send("KLVN", "20.05", time.truth());
  pass(5 * kSecond);
  EXPECT_EQ(left_out(), 0U);
  EXPECT_EQ(times_kept("KLVN"), 1U);
}

TEST_F(PastDays, AClockThatIsADayAheadFromTheStartIsSuspected) {
  time.run_until(kMondayOpen + 30 * kMinute);
  time.set_wrong_by(kDayNanos);
  for (int i = 0; i < 90; ++i) send("KLVN", "20.05", time.truth()), pass(kSecond);
  const auto& notices = keeper.kept.notices;
  EXPECT_EQ(std::count_if(notices.begin(), notices.end(),
                          [](const auto& one) {
                            return one.notice.detail.find("If this computer's clock is wrong, set it") !=
                                   std::string::npos;
                          }),
            1);
  time.set_wrong_by(0);
  send("KLVN", "19.80", time.truth());
  pass(kSecond);
  send("KLVN", "20.05", time.truth());
  pass(5 * kSecond);
  EXPECT_EQ(times_sent("KLVN crossed"), 1U) << "once it is right, all is as ever";
}

TEST_F(PastDays, ABurstOfFridayIsNoReasonToDoubtOurClock) {
  for (int i = 0; i < 10; ++i) send_friday(), pass(20 * kSecond);
  EXPECT_EQ(kept_of(NoticeKind::self_check), 0U);
}

struct PastDaysTold : PastDays {
  PastDaysTold() { past_days = "tell"; }
};

TEST_F(PastDaysTold, ARecordedDayThatAProgramPlaysIsToldWhereThatIsWanted) {
  send("KLVN", "19.80", kFridayNoon);
  send("KLVN", "20.05", kFridayNoon + kSecond);
  pass(10 * kSecond);
  EXPECT_EQ(times_kept("KLVN"), 1U);
  EXPECT_EQ(left_out(), 0U);
}

}  // namespace
}  // namespace brimwatch::simulation
