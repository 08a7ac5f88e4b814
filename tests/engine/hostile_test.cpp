// What a feed may not say: numbers that nothing trades at, symbols that nobody watches, corrections of other days. Each
// is counted where the status page shows it, moves nothing and is said of nothing.
#include <gmock/gmock.h>

#include "small_engine.h"

namespace brimwatch {
namespace {

using testing::IsEmpty;

/// KLVN at 50, which has traded, and ORRI at 80, which has not.
class Hostile : public SmallEngine {
 protected:
  Hostile() {
    watch("KLVN", "50"), watch("ORRI", "80");
    begin();
    give(trade("49.50", 1000));
    give(trade("49.60", 1000));
  }

  /// The tick is counted there, once, and nothing else comes of it.
  void expect_refused(const Tick& one, std::uint64_t EngineCounters::*counter, const std::string& what) {
    const std::uint64_t before = engine_->counters().*counter;
    const std::size_t told = sink_.notices.size();
    const Shares volume = view().volume.so_far;
    const Price last = view().last;
    give(one);
    EXPECT_EQ(engine_->counters().*counter, before + 1) << what;
    EXPECT_EQ(sink_.notices.size(), told) << what;
    EXPECT_EQ(view().volume.so_far, volume) << what;
    EXPECT_EQ(view().last, last) << what;
  }
};

constexpr auto kPriced = {TickKind::trade, TickKind::bar, TickKind::day};

TEST_F(Hostile, PricesAndSizesThatNothingTradesAtAreAbsurd) {
  for (const TickKind kind : kPriced) {
    const std::string name = "kind " + std::to_string(static_cast<int>(kind));
    for (const std::int64_t price : {std::int64_t{0}, std::int64_t{-49'500'000}, 1'000'000'001 * kMicrosPerUnit}) {
      Tick one = tick(kind);
      one.price = Price{price};
      expect_refused(one, &EngineCounters::absurd, name + ", price " + std::to_string(price));
    }
    for (const Shares size : {Shares{-1}, Shares::whole(10'000'000'001)}) {
      Tick one = tick(kind);
      one.size = size;
      expect_refused(one, &EngineCounters::absurd, name + ", size " + std::to_string(size.micros));
    }
    Tick timeless = tick(kind);
    timeless.time = {};
    expect_refused(timeless, &EngineCounters::absurd, name + ", no time");
  }
  Tick most = trade("49.55", 1);
  most.size = Shares::whole(10'000'000'000);
  give(most);  // the most that is believed is believed
  EXPECT_EQ(view().volume.so_far, Shares::whole(10'000'002'000));
}

TEST_F(Hostile, CorrectionsOfAbsurdSizeChangeNothing) {
  for (const Shares size : {Shares{-1}, Shares::whole(10'000'000'001)}) {
    Tick cancel = tick(TickKind::cancel);
    cancel.size = size;
    expect_refused(cancel, &EngineCounters::absurd, "cancel of " + std::to_string(size.micros));
    Tick now = tick(TickKind::correct);
    now.size = size;
    expect_refused(now, &EngineCounters::absurd, "corrected to " + std::to_string(size.micros));
    Tick before = tick(TickKind::correct);
    before.bid_size = size;
    expect_refused(before, &EngineCounters::absurd, "corrected from " + std::to_string(size.micros));
  }
}

TEST_F(Hostile, CorrectionsOfMoreThanThereIsAreUnmatched) {
  Tick cancel = tick(TickKind::cancel, "49.50", 2001);
  expect_refused(cancel, &EngineCounters::unmatched_corrections, "2,001 of 2,000 shares");
  Tick correct = tick(TickKind::correct, "49.50", 1);
  correct.bid = correct.price, correct.bid_size = Shares::whole(2002);
  expect_refused(correct, &EngineCounters::unmatched_corrections, "1 for 2,002");
}

TEST_F(Hostile, CorrectionsOfOtherDaysAndStrangersAreUnmatchedOrIgnored) {
  for (const TickKind kind : {TickKind::cancel, TickKind::correct}) {
    Tick of_yesterday = tick(kind);
    of_yesterday.time = session().open - kDayNanos + kHour;
    expect_refused(of_yesterday, &EngineCounters::unmatched_corrections, "of yesterday");
    Tick strange = tick(kind);
    strange.symbol = spare_;
    expect_refused(strange, &EngineCounters::ignored, "of a symbol that nobody watches");
    strange.symbol = 4'000'000;
    expect_refused(strange, &EngineCounters::ignored, "of a symbol that is none");
    Tick unheard = tick(kind);
    unheard.symbol = orri_;
    expect_refused(unheard, &EngineCounters::unmatched_corrections, "of a symbol that has not traded today");
    Tick ahead = tick(kind);
    ahead.received = ahead.time;
    ahead.time = ahead.time + kDayNanos;
    expect_refused(ahead, &EngineCounters::absurd, "of tomorrow, received today");
    EXPECT_THAT(sink_.days, IsEmpty()) << "it ends no day";
  }
}

TEST_F(Hostile, CorrectionsOfWhatCarriesNoVolumeTakeNone) {
  for (const char* codes : {"M", "Q"}) {  // official close and open: no volume, CTS specification
    Tick cancel = tick(TickKind::cancel, "49.50", 500);
    cancel.conditions = Conditions::of(codes);
    give(cancel);
    EXPECT_EQ(view().volume.so_far, Shares::whole(2000)) << codes;
  }
  Tick early = tick(TickKind::cancel, "49.50", 500);  // before the open, with the code of it
  early.time = at(-kHour);
  early.conditions = Conditions::of("T");
  give(early);
  EXPECT_EQ(view().volume.so_far, Shares::whole(2000));
}

TEST_F(Hostile, ACorrectionOfTheSizeAloneLeavesThePriceAlone) {
  Tick correct = tick(TickKind::correct, "49.60", 400);
  correct.bid = correct.price, correct.bid_size = Shares::whole(1000);
  give(correct);
  EXPECT_EQ(view().volume.so_far, Shares::whole(1400));
  EXPECT_EQ(to_string(view().last), "49.60");
}

TEST_F(Hostile, StatesOfTomorrowAndOfNothingSayNothing) {
  Tick ahead = tick(TickKind::status);
  ahead.status = TradingStatus::halted;
  ahead.received = ahead.time;
  ahead.time = ahead.time + kDayNanos;
  expect_refused(ahead, &EngineCounters::absurd, "halted tomorrow");
  Tick none = tick(TickKind::status);
  none.status = TradingStatus::none;
  give(none);
  Tick resumed = tick(TickKind::status);
  resumed.status = TradingStatus::trading;
  give(resumed);  // it was not halted
  EXPECT_THAT(sink_.notices, IsEmpty());
  for (const TradingStatus status : {TradingStatus::halted, TradingStatus::paused, TradingStatus::quotation}) {
    Tick halted = tick(TickKind::status);
    halted.status = status;
    give(halted);
  }
  ASSERT_EQ(sink_.notices.size(), 1U) << "halted is halted, by whatever name";
  EXPECT_EQ(sink_.notices[0].kind, NoticeKind::halted);
}

TEST_F(Hostile, StrangersAreIgnoredOutsideTheSessionNothingCounts) {
  for (const TickKind kind : {TickKind::trade, TickKind::bar, TickKind::day, TickKind::status, TickKind::hole}) {
    for (const SymbolId symbol : {spare_, SymbolId{4'000'000}}) {
      Tick one = tick(kind);
      one.symbol = symbol;
      expect_refused(one, &EngineCounters::ignored, "kind " + std::to_string(static_cast<int>(kind)));
    }
  }
  for (const TickKind kind : {TickKind::bar, TickKind::day}) {
    Tick early = tick(kind);
    early.time = at(-kHour);
    early.day_volume = Shares::whole(5'000'000);
    expect_refused(early, &EngineCounters::volume_only, "before the open");
  }
  Tick late = tick(TickKind::bar, "55", 0);
  late.time = at(30 * kSecond);
  expect_refused(late, &EngineCounters::out_of_order, "a bar older than the newest print");
  Tick old = tick(TickKind::day, "55", 0);
  old.time = at(30 * kSecond);
  expect_refused(old, &EngineCounters::out_of_order, "a snapshot older than the newest print");
}

TEST_F(Hostile, ADaysVolumeBeyondBeliefIsNotTaken) {
  Tick snapshot = tick(TickKind::day, "49.60", 0);
  snapshot.day_volume = Shares::whole(4'000'000'000'001);
  expect_refused(snapshot, &EngineCounters::absurd, "four trillion shares");
  Tick bar = tick(TickKind::bar, "49.60", 100);
  bar.day_volume = Shares::whole(50'000);
  give(bar);
  EXPECT_EQ(view().volume.so_far, Shares::whole(50'000)) << "what the bar says of the day wins where it is more";
}

TEST_F(Hostile, ABarWithoutItsHighAndLowIsItsClose) {
  Tick bar = tick(TickKind::bar, "50.10", 100);
  bar.bid = Price{-1}, bar.ask = {};
  give(bar);
  ASSERT_EQ(sink_.notices.size(), 1U);
  EXPECT_EQ(sink_.notices[0].kind, NoticeKind::crossed);
  EXPECT_EQ(to_string(sink_.notices[0].price), "50.10");
  EXPECT_EQ(engine_->counters().held_as_bad, 0U) << "what is no price is not held as one";
}

// Two seconds and two minutes are inside the bounds.
TEST_F(Hostile, TheBoundsOfTimeBelongToWhatIsTaken) {
  Tick late = trade("49.70");
  const Timestamp newest = late.time;
  give(late);
  late = trade("49.80");
  late.time = newest - 2 * kSecond;
  give(late);
  EXPECT_EQ(to_string(view().last), "49.80");
  late = trade("49.85");
  late.time = newest - 2 * kSecond - 1;
  give(late);
  EXPECT_EQ(to_string(view().last), "49.80");
  EXPECT_EQ(engine_->counters().out_of_order, 1U);

  Tick snapshot = tick(TickKind::day, "49.90", 0);
  snapshot.time = newest;
  give(snapshot);
  EXPECT_EQ(to_string(view().last), "49.90");
  snapshot = tick(TickKind::day, "49.95", 0);
  snapshot.time = newest - 2 * kSecond - 1;
  expect_refused(snapshot, &EngineCounters::out_of_order, "a snapshot of more than two seconds before");

  Tick ahead = trade("49.60");
  ahead.received = ahead.time - 2 * kMinute;
  give(ahead);
  EXPECT_EQ(to_string(view().last), "49.60");
  EXPECT_EQ(engine_->counters().absurd, 0U);
}

TEST_F(Hostile, ThreeInARowOfTheFutureAreBelievedAndNoFewer) {
  const auto give_ahead = [&](Nanos lead) {
    Tick one = trade("49.60");
    one.received = one.time - lead;
    give(one);
    return engine_->counters().absurd;
  };
  EXPECT_EQ(give_ahead(0), 0U);
  EXPECT_EQ(give_ahead(kHour), 1U);
  EXPECT_EQ(give_ahead(kHour), 2U);
  EXPECT_EQ(give_ahead(0), 2U) << "in time: the row is broken";
  EXPECT_EQ(give_ahead(kHour), 3U);
  EXPECT_EQ(give_ahead(kHour), 4U);
  EXPECT_EQ(give_ahead(kHour), 4U) << "the third: it is our clock that was set back";
  EXPECT_EQ(give_ahead(kHour + 2 * kMinute), 4U) << "two minutes beyond what is known of our clock";
}

TEST_F(Hostile, TheLargestSizeThatIsBelievedMayBeCorrected) {
  Tick correction = tick(TickKind::correct, "49.60");
  correction.bid = *parse_price("49.60");
  correction.size = correction.bid_size = Shares::whole(10'000'000'000);
  give(correction);
  EXPECT_EQ(engine_->counters().absurd, 0U);
}

TEST_F(Hostile, ASnapshotIsSomethingToKeep) {
  std::vector<WatchState> watches;
  std::vector<SymbolState> symbols;
  engine_->take_changed(watches, symbols);
  watches.clear(), symbols.clear();
  Tick snapshot = tick(TickKind::day, "49.70", 0);
  snapshot.day_volume = Shares::whole(5000);
  give(snapshot);
  engine_->take_changed(watches, symbols);
  ASSERT_EQ(symbols.size(), 1U);
  EXPECT_EQ(symbols[0].symbol, "KLVN");
  EXPECT_EQ(symbols[0].so_far, Shares::whole(5000));
}

TEST_F(Hostile, OfASymbolThatIsNoLongerWatchedNoDayEnds) {
  Tick orri = trade("79.50");
  orri.symbol = orri_;
  give(orri);
  watches_.erase(watches_.begin());
  begin();
  engine_->on_time(session().close + 11 * kMinute, sink_);
  ASSERT_EQ(sink_.days.size(), 1U);
  EXPECT_EQ(sink_.days[0].symbol, "ORRI");
}

TEST_F(Hostile, HolesThatAreNoneAndHolesOfTheNightMissNothing) {
  const auto hole = [&](Nanos from, Nanos to) {
    Tick one;
    one.kind = TickKind::hole;
    one.time = at(from), one.received = at(to);
    give(one);
  };
  hole(kHour, kHour - kMinute);  // ends before it begins: an instant
  EXPECT_EQ(view().volume.missed_minutes, 0);
  hole(-3 * kHour, -2 * kHour);  // before the open
  EXPECT_EQ(view().volume.missed_minutes, 0);
  hole(kHour, kHour + 2 * kMinute);
  EXPECT_NEAR(view().volume.missed_minutes, 2, 1e-9);
  seconds_ = 6 * 3600 + 1740;
  give(trade("49.50"));
  hole(8 * kHour, 9 * kHour);  // after the close: the day is over by then
  EXPECT_NEAR(sink_.days.empty() ? 1 : sink_.days[0].coverage, 0.99, 0.02);
}

TEST_F(Hostile, WhatIsKeptOfOthersIsLeftOut) {
  WatchState other;
  other.symbol = "NOBODY", other.pivot = *parse_price("50"), other.side = Side::over;
  WatchState elsewhere;
  elsewhere.symbol = "KLVN", elsewhere.pivot = *parse_price("49"), elsewhere.side = Side::over;
  WatchState above = elsewhere;
  above.pivot = *parse_price("51");
  WatchState spare = other;
  spare.symbol = "SPARE";
  SymbolState strange;
  strange.symbol = "NOBODY", strange.so_far = Shares::whole(7);
  SymbolState unwatched = strange;
  unwatched.symbol = "SPARE";
  const std::vector<WatchState> watches{other, elsewhere, above, spare};
  const std::vector<SymbolState> symbols{strange, unwatched};
  engine_->restore(watches, symbols);
  EXPECT_EQ(engine_->symbol_states().size(), 1U);
  for (const WatchState& state : engine_->watch_states()) EXPECT_NE(state.side, Side::over);
  give(trade("49.70"));
  EXPECT_EQ(view().volume.so_far, Shares::whole(2100));
}

TEST_F(Hostile, TimeThatStandsStillOrGoesBackEndsNothing) {
  engine_->on_time(at(kHour), sink_);
  engine_->on_time(at(-kDayNanos), sink_);
  EXPECT_THAT(sink_.days, IsEmpty());
  const WatchView none = engine_->view(77, at(kHour));
  EXPECT_EQ(none.watch, 77U);
  EXPECT_EQ(none.side, Side::unknown);
  engine_->on_time(session().close + 11 * kMinute, sink_);
  ASSERT_EQ(sink_.days.size(), 1U) << "of the one that traded";
  EXPECT_EQ(sink_.days[0].symbol, "KLVN");
  engine_->on_time(session().close + 12 * kMinute, sink_);
  EXPECT_EQ(sink_.days.size(), 1U);
}

}  // namespace
}  // namespace brimwatch
