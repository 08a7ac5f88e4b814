// A day of a feed in virtual time.
#include "adapters/feeds/health.h"

#include <gmock/gmock.h>

#include <random>

#include "feeds/market_open.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

Tick trade(Timestamp time, SymbolId symbol = 0, std::uint64_t id = 0) {
  Tick tick;
  tick.time = tick.received = time;
  tick.symbol = symbol;
  tick.price = {48'350'000};
  tick.size = Shares::whole(100);
  tick.id = id;
  return tick;
}

struct Day {
  HealthMonitor monitor{0, {}};
  Nanos at = 0;        ///< since the open
  Nanos wall_off = 0;  ///< how wrong our wall clock is
  std::vector<Tick> clean;
  std::vector<FeedEvent> events;

  [[nodiscard]] Timestamp exchange() const { return kOpen + at; }
  [[nodiscard]] Instant now() const { return {kOpen + at + wall_off, 1'000 * kSecond + at}; }
  void up() { monitor.on_state(FeedState::up, "connected", now()); }
  void down(const char* why) { monitor.on_state(FeedState::down, why, now()); }
  void tick(const Tick& one) { monitor.on_ticks({&one, 1}, now(), clean, events); }
  void pass(Nanos span, bool in_session = true) {
    for (const Nanos end = at + span; at < end;) {
      at += kSecond / 4;
      monitor.on_time(now(), in_session, events);
    }
  }
  /// A trade each `every`, for `span`.
  void trades(Nanos every, Nanos span) {
    for (const Nanos end = at + span; at < end;) {
      tick(trade(exchange()));
      pass(every);
    }
  }
  [[nodiscard]] std::vector<FeedEvent> of(FeedEvent::Kind kind) const {
    std::vector<FeedEvent> found;
    for (const auto& event : events) {
      if (event.kind == kind) found.push_back(event);
    }
    return found;
  }
};

using Kind = FeedEvent::Kind;

TEST(Health, ABusyFeedThatFallsSilentIsToldOnceAndReconnected) {
  Day day;
  day.up();
  day.trades(kSecond, 600 * kSecond);
  EXPECT_TRUE(day.monitor.carries());
  day.pass(19 * kSecond);
  EXPECT_THAT(day.events, IsEmpty());
  day.pass(3 * kSecond);
  ASSERT_THAT(day.of(Kind::silent), SizeIs(1));
  EXPECT_THAT(day.of(Kind::silent)[0].text, HasSubstr("connected, but no data for 2"));
  EXPECT_THAT(day.of(Kind::reconnect), SizeIs(1));
  EXPECT_FALSE(day.monitor.carries());
  day.pass(55 * kSecond);
  EXPECT_THAT(day.of(Kind::silent), SizeIs(1));
  EXPECT_THAT(day.of(Kind::reconnect), SizeIs(1));
  day.pass(6 * kSecond);
  EXPECT_THAT(day.of(Kind::reconnect), SizeIs(2)) << "and again after a minute";
}

/// A source of delayed data: the open's trades come an hour after it.
TEST(Health, OnceItsDelayIsKnownADelayedSourceIsNotSilentInTheMorning) {
  constexpr Nanos kHourLate = 3600 * kSecond;
  Day day;
  day.up();
  const auto trades_of_long_ago = [&](Nanos span) {
    for (const Nanos end = day.at + span; day.at < end; day.pass(kSecond)) {
      Tick tick = trade(day.exchange() - kHourLate);
      tick.received = day.exchange();
      day.tick(tick);
    }
  };
  trades_of_long_ago(300 * kSecond);
  ASSERT_THAT(day.of(Kind::late), SizeIs(1));
  day.pass(12 * 3600 * kSecond, false);
  day.events.clear();
  day.pass(kHourLate - kSecond);
  EXPECT_THAT(day.events, IsEmpty()) << "nothing can have come";
  trades_of_long_ago(10 * kSecond);
  EXPECT_THAT(day.events, IsEmpty());
  day.pass(120 * kSecond);
  EXPECT_THAT(day.of(Kind::silent), SizeIs(1)) << "now it is";
}

TEST(Health, WhatWasRecordedWeeksAgoHasNoDelayThatExplainsItsSilence) {
  Day day;
  day.up();
  for (int second = 0; second < 300; ++second, day.pass(kSecond)) {
    Tick tick = trade(day.exchange() - 46 * 24 * 3600 * kSecond);
    tick.received = day.exchange();
    day.tick(tick);
  }
  day.pass(120 * kSecond);
  EXPECT_THAT(day.of(Kind::silent), SizeIs(1));
}

TEST(Health, ANightIsNoGapBetweenTrades) {
  Day day;
  day.up();
  day.trades(30 * kSecond, 3600 * kSecond);
  day.pass(17 * 3600 * kSecond, false);
  day.pass(kSecond);
  day.trades(5 * kSecond, 250 * kSecond);
  ASSERT_THAT(day.events, IsEmpty());
  day.pass(590 * kSecond);
  EXPECT_THAT(day.of(Kind::silent), SizeIs(1)) << "some twenty times thirty seconds at the most";
}

/// Yesterday it was half an hour late, today it is not: its symbols' usual gaps stay what they were.
TEST(Health, ADelayThatIsGoneInTheMorningMakesNoSilence) {
  Day day;
  day.up();
  const auto trades_behind = [&](Nanos behind, Nanos span) {
    for (const Nanos end = day.at + span; day.at < end; day.pass(10 * kSecond)) {
      Tick tick = trade(day.exchange() - behind);
      tick.received = day.exchange();
      day.tick(tick);
    }
  };
  trades_behind(0, 1800 * kSecond);
  trades_behind(1800 * kSecond, 1800 * kSecond);
  ASSERT_THAT(day.of(Kind::late), SizeIs(1));
  day.pass(17 * 3600 * kSecond, false);
  day.events.clear();
  day.pass(kSecond);
  trades_behind(0, 1200 * kSecond);
  day.pass(150 * kSecond);
  trades_behind(0, 600 * kSecond);
  EXPECT_THAT(day.of(Kind::on_time), SizeIs(1));
  EXPECT_THAT(day.of(Kind::symbol_silent), IsEmpty());
}

TEST(Health, WhoSaysHowLateItsDataMayBeIsGivenThatTimeInTheMorning) {
  Day day;
  day.monitor = HealthMonitor(0, {.late_after = 1000 * kSecond});
  day.up();
  day.pass(999 * kSecond);
  EXPECT_THAT(day.events, IsEmpty());
  day.pass(5 * kSecond);
  EXPECT_THAT(day.of(Kind::silent), SizeIs(1));
}

TEST(Health, ASilenceOfTheWholeFeedIsNotToldOfEachOfItsSymbolsAgain) {
  Day day;
  day.up();
  for (int i = 0; i < 400; ++i) {
    for (const SymbolId symbol : {0U, 1U, 2U}) day.tick(trade(day.exchange(), symbol));
    day.pass(kSecond);
  }
  day.pass(1800 * kSecond);
  ASSERT_THAT(day.of(Kind::silent), SizeIs(1));
  day.tick(trade(day.exchange(), 0));
  day.pass(30 * kSecond);
  EXPECT_THAT(day.of(Kind::back), SizeIs(1));
  EXPECT_THAT(day.of(Kind::symbol_silent), IsEmpty());
  for (int i = 0; i < 120; ++i) {
    day.tick(trade(day.exchange(), 0));
    day.pass(kSecond);
  }
  EXPECT_THAT(day.of(Kind::symbol_silent), SizeIs(2)) << "those that have not come back with the rest";
}

TEST(Health, DataAgainIsToldWithTheHole) {
  Day day;
  day.up();
  day.trades(kSecond, 60 * kSecond);
  const Timestamp last = kOpen + 59 * kSecond;
  day.pass(120 * kSecond);
  day.clean.clear();
  day.tick(trade(day.exchange()));
  ASSERT_THAT(day.clean, SizeIs(2));
  EXPECT_EQ(day.clean[0].kind, TickKind::hole);
  EXPECT_EQ(day.clean[0].time, last);
  EXPECT_EQ(day.clean[0].received, day.exchange());
  ASSERT_THAT(day.of(Kind::back), SizeIs(1));
  EXPECT_THAT(day.of(Kind::back)[0].text, HasSubstr("data again after"));
  ASSERT_THAT(day.of(Kind::hole), SizeIs(1));
  EXPECT_TRUE(day.monitor.carries());
}

TEST(Health, AShortReconnectIsAHoleAndNoNotice) {
  Day day;
  day.up();
  day.trades(kSecond, 60 * kSecond);
  day.down("the connection broke");
  day.pass(3 * kSecond);
  day.up();
  day.pass(kSecond);
  day.clean.clear();
  day.tick(trade(day.exchange()));
  ASSERT_THAT(day.clean, SizeIs(2));
  EXPECT_EQ(day.clean[0].kind, TickKind::hole);
  EXPECT_THAT(day.of(Kind::hole)[0].text, HasSubstr("the connection broke"));
  EXPECT_THAT(day.of(Kind::silent), IsEmpty());
  EXPECT_THAT(day.of(Kind::back), IsEmpty());
}

TEST(Health, AFeedThatIsDownIsToldWithItsReason) {
  Day day;
  day.up();
  day.trades(kSecond, 30 * kSecond);
  day.down("the server answered HTTP 429");
  day.pass(20 * kSecond);
  ASSERT_THAT(day.of(Kind::silent), SizeIs(1));
  EXPECT_THAT(day.of(Kind::silent)[0].text, HasSubstr("429"));
  EXPECT_THAT(day.of(Kind::reconnect), IsEmpty()) << "it reconnects by itself";
}

TEST(Health, OutsideTheSessionSilenceSaysNothing) {
  Day day;
  day.up();
  day.trades(kSecond, 60 * kSecond);
  day.pass(8 * kHour, false);
  EXPECT_THAT(day.events, IsEmpty());
  day.pass(14 * kSecond);  // the next session's first seconds
  EXPECT_THAT(day.events, IsEmpty());
}

TEST(Health, AFeedThatNeverGivesDataIsToldAMinuteAfterTheOpen) {
  Day day;
  day.up();
  day.pass(59 * kSecond);
  EXPECT_THAT(day.of(Kind::silent), IsEmpty());
  day.pass(3 * kSecond);
  EXPECT_THAT(day.of(Kind::silent), SizeIs(1));
}

// Four illiquid stocks: a trade every 40 s at random. In a hundred sessions of six hours hardly a false alarm.
/// A source that takes connections, gives nothing and answers no ping: each connection ends before a minute is over.
TEST(Health, AFeedThatNeverGivesDataIsToldAlsoWhenItsConnectionBreaksAgainAndAgain) {
  Day day;
  day.pass(kSecond);
  for (int i = 0; i < 8; ++i) {
    day.up();
    day.pass(15 * kSecond);
    day.down("no sign of life for 15 s");
    day.pass(kSecond / 2);
  }
  ASSERT_THAT(day.of(Kind::silent), SizeIs(1));
  EXPECT_THAT(day.of(Kind::silent)[0].text, HasSubstr("connected, but no data for 60 s"));
}

TEST(Health, ABusyFeedWhoseNewConnectionsBringNothingIsTold) {
  Day day;
  day.up();
  day.trades(kSecond, 600 * kSecond);
  for (int i = 0; i < 4; ++i) {
    day.down("reset by the peer");
    day.pass(kSecond / 2);
    day.up();
    day.pass(15 * kSecond);
  }
  ASSERT_THAT(day.of(Kind::silent), SizeIs(1));
  day.tick(trade(day.exchange()));
  EXPECT_THAT(day.of(Kind::back), SizeIs(1));
}

TEST(Health, WhileItIsTriedAgainTheReasonIsSaid) {
  Day day;
  day.up();
  day.trades(kSecond, 60 * kSecond);
  for (int i = 0; i < 6; ++i) {
    day.down("a message was too large");
    day.monitor.on_state(FeedState::connecting, "connecting to quotes.example.org", day.now());
    day.pass(kSecond);
    day.up();
    day.tick(trade(day.exchange()));
  }
  ASSERT_THAT(day.of(Kind::flapping), SizeIs(1));
  EXPECT_THAT(day.of(Kind::flapping)[0].text, HasSubstr("last: a message was too large;"));
  day.down("no answer within the time limit");
  day.monitor.on_state(FeedState::connecting, "connecting to quotes.example.org", day.now());
  day.pass(130 * kSecond);
  ASSERT_THAT(day.of(Kind::silent), SizeIs(1));
  EXPECT_EQ(day.of(Kind::silent)[0].text, "no answer within the time limit");
}

TEST(Health, AThinFeedDoesNotCryWolf) {
  std::mt19937_64 random(7);
  std::exponential_distribution<double> gap(1 / 20.0);
  std::size_t alarms = 0;
  for (int session = 0; session < 100; ++session) {
    Day day;
    day.up();
    while (day.at < 6 * kHour) {
      day.tick(trade(day.exchange()));
      day.pass(std::max<Nanos>(kSecond / 4, static_cast<Nanos>(gap(random) * 4) * kSecond / 4));
    }
    alarms += day.of(Kind::silent).size();
  }
  EXPECT_LE(alarms, 2U);
}

TEST(Health, DelayedDataIsToldOnceAndOneLateReportIsNot) {
  Day day;
  day.up();
  const auto aged = [&](Nanos age) {
    Tick tick = trade(day.exchange() - age);
    tick.received = day.exchange();
    day.tick(tick);
    day.pass(kSecond);
  };
  for (int i = 0; i < 20; ++i) aged(i % 5 == 0 ? 20 * kMinute : kSecond / 10);
  EXPECT_THAT(day.events, IsEmpty());
  for (int i = 0; i < 30; ++i) aged(15 * kMinute);
  ASSERT_THAT(day.of(Kind::late), SizeIs(1));
  EXPECT_THAT(day.of(Kind::late)[0].text, HasSubstr("15 min old"));
  EXPECT_TRUE(day.monitor.is_late());
  for (int i = 0; i < 10; ++i) aged(kSecond);
  EXPECT_THAT(day.of(Kind::on_time), SizeIs(1));
}

TEST(Health, OneBusySymbolThatStopsIsToldWhileTheRestGoesOn) {
  Day day;
  day.up();
  for (int i = 0; i < 120; ++i) {
    day.tick(trade(day.exchange(), 0));
    day.tick(trade(day.exchange(), 1));
    day.pass(kSecond);
  }
  for (int i = 0; i < 70; ++i) {
    day.tick(trade(day.exchange(), 0));
    day.pass(kSecond);
  }
  ASSERT_THAT(day.of(Kind::symbol_silent), SizeIs(1));
  EXPECT_EQ(day.of(Kind::symbol_silent)[0].symbol, 1U);
  EXPECT_THAT(day.of(Kind::silent), IsEmpty());
  day.tick(trade(day.exchange(), 1));
  EXPECT_THAT(day.of(Kind::symbol_back), SizeIs(1));
}

TEST(Health, AHaltedSymbolIsQuietByRight) {
  Day day;
  day.up();
  for (int i = 0; i < 120; ++i) {
    day.tick(trade(day.exchange(), 1));
    day.pass(kSecond);
  }
  Tick halt = trade(day.exchange(), 1);
  halt.kind = TickKind::status;
  halt.status = TradingStatus::halted;
  day.tick(halt);
  for (int i = 0; i < 400; ++i) {
    day.tick(trade(day.exchange(), 0));
    day.pass(kSecond);
  }
  EXPECT_THAT(day.of(Kind::symbol_silent), IsEmpty());
}

class ClockSteps : public testing::TestWithParam<Nanos> {};

// The steps that time daemons are tested with: +-10 s to +-10^8 s.
TEST_P(ClockSteps, AreToldOnceAndMakeNoSilence) {
  Day day;
  day.up();
  day.trades(kSecond, 60 * kSecond);
  day.wall_off = GetParam();
  day.pass(kSecond);
  day.trades(kSecond, 2 * kSecond);
  EXPECT_THAT(day.of(Kind::clock).size(), testing::Ge(1U));
  EXPECT_THAT(day.of(Kind::clock)[0].text, HasSubstr(GetParam() > 0 ? "jumped forward" : "jumped back"));
  EXPECT_THAT(day.of(Kind::silent), IsEmpty());
}
INSTANTIATE_TEST_SUITE_P(All, ClockSteps,
                         testing::Values(10 * kSecond, -10 * kSecond, 3600 * kSecond, -3600 * kSecond,
                                         100'000'000 * kSecond, -100'000'000 * kSecond));

TEST(Screen, ATradeIdTwiceIsOneTrade) {
  Day day;
  day.up();
  for (int i = 0; i < 3; ++i) day.tick(trade(day.exchange(), 0, 77));
  day.tick(trade(day.exchange(), 1, 77));  // another symbol's
  EXPECT_THAT(day.clean, SizeIs(2));
  EXPECT_EQ(day.monitor.counts().screen.repeated, 2U);
}

/// Else the day's volume would lose it twice.
TEST(Screen, ACancelOrACorrectionTwiceIsOne) {
  for (const TickKind kind : {TickKind::cancel, TickKind::correct}) {
    TickScreen screen;
    const Instant now{kOpen + kSecond, kSecond};
    Tick tick = trade(kOpen, 0, 7);
    EXPECT_TRUE(screen.pass(tick, now));
    tick.kind = kind;
    EXPECT_TRUE(screen.pass(tick, now)) << "it is of the trade's id, and no repetition of the trade";
    EXPECT_FALSE(screen.pass(tick, now));
    EXPECT_EQ(screen.counts().repeated, 1U);
  }
}

TEST(Screen, WithoutIdsTwoTradesThatLookAlikeAreTwo) {
  Day day;
  day.up();
  day.tick(trade(day.exchange()));
  day.tick(trade(day.exchange()));
  EXPECT_THAT(day.clean, SizeIs(2));
}

TEST(Screen, WithoutIdsWhatAPolledSourceShowsAgainIsOneTrade) {
  TickScreen screen(true);
  const Instant now{kOpen + 10 * kSecond, 0};
  EXPECT_TRUE(screen.pass(trade(kOpen), now));
  EXPECT_FALSE(screen.pass(trade(kOpen), now)) << "asked again, nothing has traded meanwhile";
  EXPECT_TRUE(screen.pass(trade(kOpen + kSecond), now));
  EXPECT_FALSE(screen.pass(trade(kOpen), now));
  EXPECT_EQ(screen.counts().repeated, 2U);
}

TEST(Screen, WithoutIdsWhatIsSentAgainAfterAReconnectIsTakenOnce) {
  Day day;
  day.up();
  std::vector<Tick> sent;
  for (int i = 0; i < 300; ++i) {
    sent.push_back(trade(kOpen + i * kSecond / 10));
    day.at = i * kSecond / 10;
    day.tick(sent.back());
  }
  day.down("cut");
  day.up();
  const std::size_t before = day.clean.size();
  for (const Tick& again : sent) day.tick(again);
  EXPECT_EQ(day.clean.size(), before);
  day.tick(trade(kOpen + 60 * kSecond));
  EXPECT_GT(day.clean.size(), before);
}

TEST(Screen, ATimeInTheFutureIsLeftOutUntilTheClockMustBeOurs) {
  Day day;
  day.up();
  day.trades(kSecond, 5 * kSecond);
  const std::size_t before = day.clean.size();
  day.tick(trade(day.exchange() + kDayNanos));
  EXPECT_EQ(day.clean.size(), before);
  EXPECT_EQ(day.monitor.counts().screen.future, 1U);
  day.trades(kSecond, 5 * kSecond);
  day.wall_off = -10 * kMinute;  // now it is our clock that is wrong
  day.trades(kSecond, 60 * kSecond);
  EXPECT_GT(day.clean.size(), before + 30);
  EXPECT_THAT(day.of(Kind::clock).back().text, HasSubstr("this computer's clock"));
}

TEST(Screen, AClockThatIsSetBackWhileItRunsLosesNothing) {
  for (const Nanos back : {2 * kMinute, kHour, kDayNanos}) {
    Day day;
    day.up();
    day.trades(kSecond, 5 * kSecond);
    const std::size_t before = day.clean.size();
    day.wall_off = -back;
    day.trades(kSecond, 5 * kSecond);
    EXPECT_GE(day.clean.size(), before + 5);
    EXPECT_EQ(day.monitor.counts().screen.future, 0U);
    day.tick(trade(day.exchange() + kDayNanos));
    EXPECT_EQ(day.monitor.counts().screen.future, 1U) << "tomorrow's is as doubtful as before";
  }
}

TEST(Screen, CrossedAndAbsurdQuotesAreLeftOut) {
  Day day;
  day.up();
  Tick quote = trade(day.exchange());
  quote.kind = TickKind::quote;
  quote.bid = {50'000'000};
  quote.ask = {49'990'000};
  day.tick(quote);
  quote.ask = {50'000'000};  // locked: odd, but real
  day.tick(quote);
  Tick huge = trade(day.exchange());
  huge.price = {99'000'000'000'000};
  day.tick(huge);
  EXPECT_THAT(day.clean, SizeIs(1));
  EXPECT_EQ(day.monitor.counts().screen.crossed, 1U);
  EXPECT_EQ(day.monitor.counts().screen.absurd, 1U);
}

// The token expired: heartbeats go on for half an hour, then the source ends the connection. Blind since the last trade,
// not since the last beat.
TEST(Health, HeartbeatsAreNoData) {
  Day day;
  day.up();
  day.trades(kSecond, 600 * kSecond);
  const Timestamp last = day.exchange() - kSecond;
  day.monitor.on_refusal("token expired");
  for (int i = 0; i < 360; ++i) day.monitor.on_life(day.now()), day.pass(5 * kSecond);
  ASSERT_THAT(day.of(Kind::silent), SizeIs(1));
  EXPECT_THAT(day.of(Kind::silent)[0].text, HasSubstr("the source said: token expired"));
  day.down("the server closed: 1008");
  day.pass(kSecond);
  day.up();
  day.clean.clear();
  day.tick(trade(day.exchange()));
  ASSERT_THAT(day.clean, SizeIs(2));
  EXPECT_EQ(day.clean[0].kind, TickKind::hole);
  EXPECT_EQ(day.clean[0].time, last);
}

/// Its source changed a field's type at noon, or answers with a web page.
TEST(Health, ASilenceOfWhatCannotBeReadSaysSo) {
  Day day;
  day.up();
  day.trades(kSecond, 600 * kSecond);
  day.monitor.on_unreadable("size: found \"x\", not readable");
  day.tick(trade(day.exchange()));
  for (int i = 0; i < 60; ++i) day.monitor.on_unreadable("price: found \"n/a\", not readable"), day.pass(kSecond);
  ASSERT_THAT(day.of(Kind::silent), SizeIs(1));
  EXPECT_THAT(day.of(Kind::silent)[0].text,
              HasSubstr("; what comes cannot be read: price: found \"n/a\", not readable;"));
}

TEST(Health, ABusySymbolThatComesBackHasAHoleOfItsOwn) {
  Day day;
  day.up();
  for (int i = 0; i < 600; ++i) day.tick(trade(day.exchange(), 1)), day.trades(kSecond, kSecond);
  const Timestamp last = day.exchange() - kSecond;
  day.trades(kSecond, 300 * kSecond);  // only the other one
  ASSERT_THAT(day.of(Kind::symbol_silent), SizeIs(1));
  day.clean.clear();
  day.tick(trade(day.exchange(), 1));
  ASSERT_THAT(day.clean, SizeIs(2));
  EXPECT_EQ(day.clean[0].kind, TickKind::hole);
  EXPECT_EQ(day.clean[0].symbol, 1U);
  EXPECT_EQ(day.clean[0].time, last);
  ASSERT_THAT(day.of(Kind::hole), SizeIs(1));
  EXPECT_THAT(day.of(Kind::symbol_back), SizeIs(1));
}

TEST(Health, ASymbolThatNeverComesIsToldByItsUsualVolume) {
  Day day;
  day.up();
  // 1.2 million shares a day are 51 a second; 23,400 are one.
  day.monitor.expect({{0, "KLVN", 51}, {1, "QUOL.B", 51}, {2, "HALQ", 1}}, true, day.now());
  day.trades(kSecond, 200 * kSecond);
  EXPECT_THAT(day.of(Kind::unheard), IsEmpty()) << "too soon to say";
  day.trades(kSecond, 400 * kSecond);
  ASSERT_THAT(day.of(Kind::unheard), SizeIs(1));
  EXPECT_THAT(day.of(Kind::unheard)[0].text, HasSubstr("nothing has come of QUOL.B in "));
  day.trades(kSecond, 1200 * kSecond);
  EXPECT_THAT(day.of(Kind::unheard), SizeIs(1)) << "once, and not of one that trades so little";
  EXPECT_EQ(day.monitor.counts().unheard, 1U);
}

TEST(Health, ASymbolThatNeverComesIsWaitedForOverReloadsAndToldOnceADay) {
  Day day;
  day.up();
  const std::vector<ExpectedSymbol> first{{0, "KLVN", 51}, {1, "QUOL.B", 51}},
      second{first[0], first[1], {2, "HALQ", 51}};
  day.monitor.expect(first, true, day.now());
  day.trades(kSecond, 250 * kSecond);
  day.monitor.expect(second, false, day.now());
  day.trades(kSecond, 250 * kSecond);
  ASSERT_THAT(day.of(Kind::unheard), SizeIs(1));
  EXPECT_THAT(day.of(Kind::unheard)[0].text, HasSubstr("nothing has come of QUOL.B in "))
      << "the reload is no new beginning";
  day.trades(kSecond, 300 * kSecond);
  ASSERT_THAT(day.of(Kind::unheard), SizeIs(2));
  EXPECT_THAT(day.of(Kind::unheard)[1].text, HasSubstr("nothing has come of HALQ in "))
      << "from the reload that named it";
  day.monitor.expect(first, false, day.now());
  day.trades(kSecond, 1200 * kSecond);
  EXPECT_THAT(day.of(Kind::unheard), SizeIs(2)) << "told already";
  day.monitor.expect(first, true, day.now());
  day.trades(kSecond, 600 * kSecond);
  EXPECT_THAT(day.of(Kind::unheard), SizeIs(3)) << "another day";
}

TEST(Health, AConnectionThatBreaksAgainAndAgainIsToldOnceWithACount) {
  Day day;
  for (int i = 0; i < 100; ++i) {
    day.up();
    day.trades(kSecond, 3 * kSecond);
    day.down("the connection broke");
    day.pass(i % 10 == 0 ? 20 * kSecond : kSecond);
  }
  ASSERT_THAT(day.of(Kind::flapping), SizeIs(1));
  EXPECT_THAT(day.of(Kind::flapping)[0].text, HasSubstr("the connection broke 5 times in "));
  EXPECT_LE(day.of(Kind::silent).size() + day.of(Kind::back).size(), 2U) << "of the first long break";
  EXPECT_EQ(day.monitor.counts().breaks, 100U);
  day.up();
  day.trades(kSecond, 700 * kSecond);
  EXPECT_THAT(day.of(Kind::changed), SizeIs(1)) << "it holds";
}

TEST(Screen, ACancelOfATradeThatNeverCameTakesNothingAway) {
  Day day;
  day.up();
  day.tick(trade(day.exchange(), 0, 7));
  Tick cancel = trade(day.exchange(), 0, 8);  // of a trade in a hole
  cancel.kind = TickKind::cancel;
  day.tick(cancel);
  Tick correct = trade(day.exchange(), 0, 9);
  correct.kind = TickKind::correct;
  correct.bid = correct.price;
  correct.bid_size = Shares::whole(50);
  day.tick(correct);
  cancel.id = 7;
  day.tick(cancel);
  ASSERT_THAT(day.clean, SizeIs(4));
  EXPECT_EQ(day.clean[1].size, Shares{}) << "it never added to the day";
  EXPECT_EQ(day.clean[1].id, 8U) << "what else it did can still be taken back";
  EXPECT_EQ(day.clean[2].bid_size, Shares{});
  EXPECT_EQ(day.clean[3].size, Shares::whole(100));
  EXPECT_EQ(day.monitor.counts().screen.unheard, 2U);
}

TEST(Screen, ATradeThatWasCorrectedMayBeTakenBack) {
  Day day;
  day.up();
  day.tick(trade(day.exchange(), 0, 7));
  Tick correct = trade(day.exchange(), 0, 7);
  correct.kind = TickKind::correct;
  correct.bid = correct.price;
  correct.bid_size = correct.size;
  correct.size = Shares::whole(60);
  day.tick(correct);
  Tick cancel = correct;
  cancel.kind = TickKind::cancel;
  day.tick(cancel);
  ASSERT_THAT(day.clean, SizeIs(3));
  EXPECT_EQ(day.clean[1].bid_size, Shares::whole(100));
  EXPECT_EQ(day.clean[2].size, Shares::whole(60));
}

TEST(Screen, ASnapshotThatDidNotChangeIsNothing) {
  Day day;
  day.up();
  Tick snapshot = trade(day.exchange());
  snapshot.kind = TickKind::day;
  snapshot.day_volume = Shares::whole(1000);
  day.tick(snapshot);
  day.tick(snapshot);
  snapshot.day_volume = Shares::whole(1100);
  day.tick(snapshot);
  EXPECT_THAT(day.clean, SizeIs(2));
}

// A clock that somebody pulls to and fro once made a notice of each jump, without end.
TEST(Screen, AClockThatJumpsAllTheTimeIsToldOnceAnHourWithACount) {
  Day day;
  day.up();
  for (int i = 0; i < 100; ++i) {
    day.wall_off = i % 2 == 0 ? 5 * kMinute : 0;
    day.trades(kSecond, 2 * kSecond);
  }
  EXPECT_THAT(day.of(Kind::clock), testing::SizeIs(1));
  EXPECT_EQ(day.monitor.counts().clock_steps, 99U);
  day.trades(kSecond, 3600 * kSecond);
  day.wall_off = 10 * kMinute;
  day.trades(kSecond, 2 * kSecond);
  ASSERT_THAT(day.of(Kind::clock), testing::SizeIs(2));
  EXPECT_THAT(day.of(Kind::clock).back().text, HasSubstr("after 98 jumps"));
}

}  // namespace
}  // namespace brimwatch
