// One life: what is handed to the daemon in each of its stages, and its end.
#include "house_rig.h"
#include "live/ending.h"

namespace brimwatch::simulation {
namespace {

struct LifeCase : HouseRig {
  void SetUp() override { open(); }

  /// In virtual time; how long it took.
  Nanos end() {
    const Nanos begun = time.steady();
    Ending ending(*house, {[this] { return time.steady(); },
                           [this](std::chrono::milliseconds most) {
                             if (keeper.hangs) time.run_until(time.truth() + std::chrono::nanoseconds(most).count());
                             return !keeper.hangs;
                           }});
    while (!ending.step()) {
      time.run_until(time.truth() + std::chrono::nanoseconds(Ending::kStep).count());
      if (time.steady() - begun > kMinute) break;
      if (on_step) on_step(time.steady() - begun);
    }
    return time.steady() - begun;
  }
  void start() {
    house->restore({});
    begin();
    trade("KLVN", "19.80");
    pass(kSecond);
  }
  std::function<void(Nanos)> on_step;
};

/// As a journal has it: told, and never delivered.
RestoredState with_a_crossing_that_waits(Timestamp at) {
  RestoredState kept;
  OpenDelivery open;
  open.record.id = "2026-10-14/KLVN/20.00/crossed/1";
  open.record.symbol = "KLVN";
  open.record.title = "KLVN crossed 20.00";
  open.record.notice.kind = NoticeKind::crossed;
  open.record.notice.time = at;
  open.row.notice_id = open.record.id;
  open.row.channel = "desk";
  kept.open.push_back(std::move(open));
  return kept;
}

TEST_F(LifeCase, WhatWaitedFromBeforeGoesOutWhenTheJournalCanBeReadAtLast) {
  house->do_without("another program keeps it locked");
  begin();
  EXPECT_EQ(house->stage(), Stage::without_journal);
  pass(15 * kSecond);
  house->recover(with_a_crossing_that_waits(time.truth() - kMinute));
  EXPECT_EQ(house->stage(), Stage::running);
  pass(kSecond);
  EXPECT_EQ(times_sent("KLVN crossed"), 1U);
  house->recover(with_a_crossing_that_waits(time.truth()));
  pass(kSecond);
  EXPECT_EQ(times_sent("KLVN crossed"), 1U) << "it is read once";
}

TEST_F(LifeCase, WhatWasToldWithoutTheJournalIsToldOnceHoweverManyPartsItIsWrittenIn) {
  house->do_without("another program keeps it locked");
  keeper.hangs = true;
  begin();
  trade("KLVN", "19.80");
  trade("ORRI", "49.50");
  trade("KLVN", "20.10");
  pass(15 * kSecond);
  trade("ORRI", "50.10");
  pass(kSecond);
  ASSERT_EQ(times_sent("KLVN crossed"), 1U);
  ASSERT_EQ(times_sent("ORRI crossed"), 1U);
  keeper.hangs = false;
  keeper.answer(true);
  pass(kMinute);
  EXPECT_EQ(times_sent("KLVN crossed"), 1U);
  EXPECT_EQ(times_sent("ORRI crossed"), 1U);
  EXPECT_TRUE(house->is_well());
}

TEST_F(LifeCase, WhereAStockStoodIsKnownAgainUnlessItHasTradedSince) {
  start();
  trade("KLVN", "20.10");
  trade("ORRI", "50.10");
  pass(10 * kSecond);
  RestoredState kept;
  coalesce(keeper.kept);
  kept.watches = keeper.kept.watches, kept.symbols = keeper.kept.symbols;
  open();  // the next life
  house->do_without("another program keeps it locked");
  begin();
  trade("ORRI", "49.40");
  pass(10 * kSecond);
  sent.clear();
  ASSERT_EQ(kept.watches.size(), 2U);
  ASSERT_EQ(kept.symbols.size(), 2U);
  house->recover(std::move(kept));
  pass(kSecond);
  trade("KLVN", "20.11");  // inside it was, and inside it is: nothing new
  trade("ORRI", "50.11");  // this one has been seen under its pivot
  pass(kSecond);
  EXPECT_EQ(times_sent("KLVN crossed"), 0U);
  EXPECT_EQ(times_sent("ORRI crossed"), 1U);
}

TEST_F(LifeCase, AReloadThatIsOnItsWayWhenTheEndBeginsStartsNothing) {
  start();
  const int starts = feed_starts;
  Settings other_feed = sample();
  other_feed.feeds[0].silent_after = std::chrono::seconds(60);
  Loaded loaded;
  loaded.settings = std::move(other_feed);
  auto ready = make_ready(std::move(loaded));
  on_step = [&](Nanos) {
    EXPECT_FALSE(house->apply(std::move(ready)));
    on_step = {};
  };
  end();
  EXPECT_EQ(feed_starts, starts);
}

TEST_F(LifeCase, WhatIsDeliveredDuringTheEndIsInTheJournal) {
  start();
  other.waits = true;
  trade("KLVN", "20.10");
  on_step = [&](Nanos spent) {
    if (spent > 2'900'000'000) other.take();  // nothing is sent any more, and answers are still heard
  };
  EXPECT_LE(end(), Ending::kMost);
  ASSERT_EQ(times_sent("KLVN"), 1U);
  ASSERT_FALSE(keeper.kept.deliveries.empty());
  EXPECT_EQ(keeper.kept.deliveries.back().state, DeliveryState::delivered);
}

TEST_F(LifeCase, ItEndsInTimeWhateverHangs) {
  start();
  EXPECT_LT(end(), kSecond / 2) << "nothing is in hand";
}

TEST_F(LifeCase, ItEndsInTimeOnADiskThatHangs) {
  start();
  keeper.hangs = true;
  trade("KLVN", "20.10");
  EXPECT_LE(end(), Ending::kMost);
  EXPECT_EQ(house->stage(), Stage::ended);
}

TEST_F(LifeCase, ItEndsInTimeWithAChannelThatHangs) {
  start();
  other.waits = true;
  trade("KLVN", "20.10");
  EXPECT_LE(end(), Ending::kMost);
  const std::size_t rows = keeper.kept.deliveries.size();
  other.take();
  time.run_until(time.truth() + kSecond);
  EXPECT_EQ(keeper.kept.deliveries.size(), rows) << "nobody listens any more";
}

TEST(Stages, OneFollowsOnAnotherAndNeverBack) {
  constexpr Stage kAll[] = {Stage::starting, Stage::without_journal, Stage::running, Stage::stopping, Stage::ended};
  LifeStage life;
  EXPECT_FALSE(life.go_to(Stage::ended)) << "it must stop first";
  for (const Stage next : {Stage::without_journal, Stage::running, Stage::stopping, Stage::ended}) {
    EXPECT_TRUE(life.go_to(next));
    for (const Stage before : kAll) EXPECT_TRUE(before > next || !life.may_go_to(before));
  }
  EXPECT_FALSE(life.listens());
}

}  // namespace
}  // namespace brimwatch::simulation
