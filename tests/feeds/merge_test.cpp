// A primary and a stand-by in virtual time: the engine must see each trade once, whoever brings it.
#include "adapters/feeds/merge.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <functional>
#include <random>
#include <set>

#include "feeds/market_open.h"
#include "support/how_much.h"

namespace brimwatch {
namespace {

using testing::SizeIs;

std::vector<FeedSettings> pair_of_feeds() {
  std::vector<FeedSettings> feeds(2);
  feeds[0].name = "north";
  feeds[1].name = "south";
  feeds[1].standby_for = "north";
  return feeds;
}

/// Two feeds that carry the same trades; each may be cut off, and the second runs a little behind.
struct Pair {
  FeedMerge merge{pair_of_feeds()};
  Nanos at = 0;
  Merged out;
  std::vector<std::uint64_t> got;      ///< ids of the trades that came out
  std::vector<Nanos> ages;             ///< of those, when they came out
  std::vector<std::uint64_t> cancels;  ///< and of those taken back
  std::vector<Tick> holes;
  std::vector<FeedEvent> events;
  bool gives[2] = {true, true};

  [[nodiscard]] Instant now() const { return {kOpen + at, 500 * kSecond + at}; }

  void collect() {
    for (const Tick& tick : out.ticks) {
      if (tick.kind == TickKind::hole) holes.push_back(tick);
      if (tick.kind == TickKind::trade) {
        got.push_back(tick.id);
        ages.push_back(tick.received - tick.time);
      }
      if (tick.kind == TickKind::cancel) cancels.push_back(tick.id);
    }
    events.insert(events.end(), out.events.begin(), out.events.end());
    out.clear();
  }
  void state(std::size_t feed, FeedState to) { merge.on_state(feed, to, "test", now(), out), collect(); }
  void give(std::size_t feed, std::uint64_t id, TickKind kind = TickKind::trade) {
    Tick tick;
    tick.kind = kind;
    tick.symbol = static_cast<SymbolId>(id % 3);
    tick.time = kOpen + static_cast<Nanos>(id) * kSecond;
    tick.received = now().wall;
    tick.price = {1'000'000};
    tick.size = Shares::whole(1);
    tick.id = id;
    merge.on_ticks(feed, {&tick, 1}, now(), out);
    collect();
  }
  /// One second: trade number `at` comes on both, the second feed a quarter of a second later.
  void second() {
    const auto id = static_cast<std::uint64_t>(at / kSecond);
    for (int quarter = 0; quarter < 4; ++quarter) {
      if (quarter == 0 && gives[0]) give(0, id);
      if (quarter == 1 && gives[1]) give(1, id);
      at += kSecond / 4;
      merge.on_time(now(), true, out);
      collect();
    }
  }
  void seconds(int count) {
    for (int i = 0; i < count; ++i) second();
  }
  [[nodiscard]] std::size_t count(FeedEvent::Kind kind) const {
    return static_cast<std::size_t>(
        std::count_if(events.begin(), events.end(), [&](const auto& e) { return e.kind == kind; }));
  }
  void start() {
    at = kSecond;
    state(0, FeedState::up);
    state(1, FeedState::up);
  }
  void expect_each_once(std::uint64_t last) const {
    std::vector<std::uint64_t> wanted;
    for (std::uint64_t id = 1; id <= last; ++id) wanted.push_back(id);
    EXPECT_EQ(got, wanted);
  }
};

/// What both feeds take back is taken back once, also when the stand-by takes over right after it.
TEST(Merge, ACancelOnBothFeedsIsTakenOnce) {
  Pair pair;
  pair.start();
  pair.seconds(100);
  const auto id = static_cast<std::uint64_t>(pair.at / kSecond - 1);
  pair.give(0, id, TickKind::cancel);
  pair.give(1, id, TickKind::cancel);
  pair.gives[0] = false;
  pair.state(0, FeedState::down);
  pair.seconds(30);
  EXPECT_GE(pair.count(FeedEvent::Kind::changed), 1U) << "the stand-by must have taken over, or nothing is shown";
  EXPECT_EQ(pair.cancels, std::vector{id});
}

TEST(Merge, OneFeedOfAPairSpeaks) {
  Pair pair;
  pair.start();
  pair.seconds(60);
  pair.expect_each_once(60);
  EXPECT_TRUE(pair.merge.speaks(0));
  EXPECT_FALSE(pair.merge.speaks(1));
}

TEST(Merge, AStandByTakesOverFromASilentPrimaryWithoutAHoleOrADouble) {
  Pair pair;
  pair.start();
  pair.seconds(60);
  pair.gives[0] = false;  // connected, but silent
  pair.seconds(60);
  EXPECT_TRUE(pair.merge.speaks(1));
  pair.expect_each_once(120);
  EXPECT_THAT(pair.holes, SizeIs(0));
  EXPECT_EQ(pair.count(FeedEvent::Kind::silent), 1U);
  EXPECT_EQ(pair.count(FeedEvent::Kind::changed), 1U);
  pair.gives[0] = true;
  pair.seconds(50);
  EXPECT_TRUE(pair.merge.speaks(1)) << "not back at the first sign";
  pair.seconds(30);
  EXPECT_TRUE(pair.merge.speaks(0));
  pair.expect_each_once(200);
  EXPECT_THAT(pair.holes, SizeIs(0));
  EXPECT_EQ(pair.count(FeedEvent::Kind::hole), 0U);
}

TEST(Merge, AStandByTakesOverAtOnceFromAPrimaryThatIsDown) {
  Pair pair;
  pair.start();
  pair.seconds(20);
  pair.gives[0] = false;
  pair.state(0, FeedState::down);
  EXPECT_TRUE(pair.merge.speaks(1));
  pair.seconds(20);
  pair.expect_each_once(40);
}

TEST(Merge, WhatNeitherSawIsOneHole) {
  Pair pair;
  pair.start();
  pair.seconds(30);
  pair.gives[0] = pair.gives[1] = false;
  pair.state(0, FeedState::down);
  pair.state(1, FeedState::down);
  pair.seconds(40);
  pair.state(1, FeedState::up);
  pair.gives[1] = true;
  pair.seconds(10);
  EXPECT_TRUE(pair.merge.speaks(1));
  ASSERT_THAT(pair.holes, SizeIs(1));
  EXPECT_EQ(pair.holes[0].time, kOpen + 30 * kSecond);
  EXPECT_EQ(pair.holes[0].received, kOpen + 71 * kSecond);
  EXPECT_EQ(pair.count(FeedEvent::Kind::hole), 1U);
}

TEST(Merge, FeedsThatDoNotStandByForEachOtherAreBothHeard) {
  std::vector<FeedSettings> feeds(2);
  feeds[0].name = "trades";
  feeds[1].name = "snapshots";
  FeedMerge merge(feeds);
  EXPECT_TRUE(merge.speaks(0));
  EXPECT_TRUE(merge.speaks(1));
}

/// A pair whose trades come every `gap` seconds, the stand-by's a quarter of a second after the primary's; the primary's
/// may be late. `extra`: what the stand-by alone carries besides.
struct RarePair : Pair {
  explicit RarePair(int seconds) : gap(seconds) { start(); }
  void pass(int seconds) {
    for (int quarter = 0; quarter < 4 * seconds; ++quarter) {
      const auto whole = static_cast<int>(at / kSecond);
      if (at % kSecond == 0 && wanted(whole) && gives[0] && whole > late)
        give(0, static_cast<std::uint64_t>(whole - late));
      if (at % kSecond == kSecond / 4 && (wanted(whole) || extra(whole)) && gives[1])
        give(1, static_cast<std::uint64_t>(whole));
      at += kSecond / 4;
      merge.on_time(now(), true, out);
      collect();
    }
  }
  [[nodiscard]] std::string text_of(FeedEvent::Kind kind) const {
    const auto found = std::find_if(events.begin(), events.end(), [&](const auto& event) { return event.kind == kind; });
    return found == events.end() ? "" : found->text;
  }

  int gap, late = 0;
  std::function<bool(int)> wanted = [this](int second) { return second % gap == 0; };
  std::function<bool(int)> extra = [](int) { return false; };
};

// By itself it would be silent after 198, 392 and 571 seconds.
TEST(Merge, APrimaryThatStallsIsJudgedByWhatTheStandByGives) {
  for (const int gap : {10, 20, 30}) {
    RarePair pair(gap);
    pair.pass(40 * gap);
    const std::size_t before = pair.got.size();
    pair.gives[0] = false;
    pair.pass(4 * gap);
    EXPECT_TRUE(pair.merge.speaks(1)) << "a trade every " << gap << " s";
    EXPECT_EQ(pair.got.size(), before + 4) << "what only the stand-by saw was kept until then";
    EXPECT_THAT(pair.holes, SizeIs(0));
    EXPECT_EQ(pair.count(FeedEvent::Kind::silent), 1U);
    EXPECT_THAT(pair.text_of(FeedEvent::Kind::silent),
                testing::EndsWith("while south goes on; connecting anew; south carries on"));
    pair.gives[0] = true;
    pair.pass(10 * gap);
    EXPECT_TRUE(pair.merge.speaks(0));
    EXPECT_EQ(std::set(pair.got.begin(), pair.got.end()).size(), pair.got.size());
    EXPECT_EQ(pair.got.size(), before + 14);
    EXPECT_EQ(pair.count(FeedEvent::Kind::silent), 1U);
  }
}

TEST(Merge, WhatWaitedForTheSwitchIsAsOldAsItIs) {
  RarePair pair(30);
  pair.pass(1200);
  pair.gives[0] = false;
  while (!pair.merge.speaks(1) && pair.at < 2000 * kSecond) pair.pass(1);
  const std::vector<Nanos>& ages = pair.ages;
  ASSERT_TRUE(pair.merge.speaks(1));
  EXPECT_GT(ages[ages.size() - 2], 30 * kSecond);
  EXPECT_LT(ages[ages.size() - 1], kSecond);
}

// A stand-by with three times the trades is no reason to leave a primary that goes on as it always has.
TEST(Merge, AStandByThatCarriesMoreIsNoReasonToLeave) {
  for (std::uint32_t seed = 0; seed < 20; ++seed) {
    std::mt19937 random(seed);
    RarePair pair(1);
    std::vector<bool> both(4 * 3600), more(4 * 3600);
    for (std::size_t i = 0; i < both.size(); ++i) {
      both[i] = random() % 30 == 0;
      more[i] = random() % 10 == 0;
    }
    pair.wanted = [&](int second) { return both[static_cast<std::size_t>(second)]; };
    pair.extra = [&](int second) { return more[static_cast<std::size_t>(second)]; };
    pair.pass(4 * 3600 - 10);
    EXPECT_LE(pair.count(FeedEvent::Kind::silent), 1U) << "seed " << seed;
  }
}

TEST(Merge, APrimaryThatIsTenMinutesLateGivesWayToOneThatIsNot) {
  RarePair pair(1);
  pair.pass(900);
  pair.late = 600;
  pair.pass(30);
  EXPECT_TRUE(pair.merge.speaks(1));
  EXPECT_THAT(pair.holes, SizeIs(0));
  pair.pass(100);
  EXPECT_TRUE(pair.merge.speaks(1)) << "it is late as before";
  pair.late = 0;
  pair.pass(100);
  EXPECT_TRUE(pair.merge.speaks(0));
  pair.expect_each_once(static_cast<std::uint64_t>(pair.at / kSecond) - 1);
}

TEST(Merge, OfAPrimaryThatIsLateBesideAGoodStandByItIsSaidWhoCarriesOn) {
  RarePair pair(1);
  pair.late = 600;
  pair.pass(900);
  EXPECT_TRUE(pair.merge.speaks(1));
  EXPECT_EQ(pair.text_of(FeedEvent::Kind::late), "data is 10 min old; south carries on");
}

TEST(Merge, APrimaryThatIsLateIsBetterThanNone) {
  RarePair pair(1);
  pair.late = 600;
  pair.gives[1] = false;
  pair.pass(900);
  EXPECT_TRUE(pair.merge.speaks(0));
  EXPECT_EQ(pair.text_of(FeedEvent::Kind::late), "data is 10 min old; notices say so as long as it is");
  EXPECT_THAT(pair.got, SizeIs(testing::Gt(200U)));
}

// Random cuts of either feed, 200 seeds (a thousand in scripts/faults): no trade twice, none in disorder of its symbol,
// and each that is missing lies in a hole that was told.
TEST(Merge, NothingTwiceAndNothingLostSilently) {
  for (std::uint32_t seed = 0; seed < test::seeds_wanted(200); ++seed) {
    std::mt19937 random(seed);
    Pair pair;
    pair.start();
    bool is_up[2] = {true, true};
    pair.seconds(200);  // how often there is data must be known before a silence means something
    for (int step = 0; step < 40; ++step) {
      pair.seconds(static_cast<int>(random() % 12) + 1);
      const std::size_t feed = random() % 2;
      switch (random() % 3) {
        case 0:
          is_up[feed] = !is_up[feed];
          pair.gives[feed] = is_up[feed];
          pair.state(feed, is_up[feed] ? FeedState::up : FeedState::down);
          break;
        case 1:  // silent for long enough to be noticed; what a feed drops in a moment, nobody can know
          pair.gives[feed] = false;
          pair.seconds(120);
          pair.gives[feed] = is_up[feed];
          break;
        default:
          pair.gives[feed] = is_up[feed];
      }
    }
    for (const std::size_t feed : {0U, 1U}) {
      pair.gives[feed] = true;
      if (!is_up[feed]) pair.state(feed, FeedState::up);
    }
    pair.seconds(200);
    const std::set<std::uint64_t> distinct(pair.got.begin(), pair.got.end());
    ASSERT_EQ(distinct.size(), pair.got.size()) << "a trade twice, seed " << seed;
    const auto last = static_cast<std::uint64_t>(pair.at / kSecond) - 1;
    for (std::uint64_t id = 1; id <= last; ++id) {
      if (distinct.count(id) > 0) continue;
      const Timestamp time = kOpen + static_cast<Nanos>(id) * kSecond;
      const bool told = std::any_of(pair.holes.begin(), pair.holes.end(),
                                    [&](const Tick& hole) { return hole.time <= time && time <= hole.received; });
      ASSERT_TRUE(told) << "trade " << id << " lost silently, seed " << seed;
    }
  }
}

/// A reload: the same pair, or another list; `origins` says which was which.
void reload(Pair& pair, std::vector<FeedSettings> feeds, const std::vector<Failover::Origin>& origins) {
  FeedMerge merge(feeds);
  merge.take_over(std::move(pair.merge), origins);
  pair.merge = std::move(merge);
}

TEST(Merge, AReloadLeavesTheFeedsThatStayAsTheyAre) {
  Pair pair;
  pair.start();
  for (int i = 0; i < 30; ++i) pair.second();
  auto feeds = pair_of_feeds();
  feeds[1].late_after = std::chrono::seconds(61);
  reload(pair, feeds, {{0, std::nullopt}, {std::nullopt, 1}});
  EXPECT_TRUE(pair.merge.carries(0)) << "it has not stopped giving";
  EXPECT_TRUE(pair.merge.speaks(0));
  EXPECT_FALSE(pair.merge.carries(1));
  pair.gives[1] = false;
  for (int i = 0; i < 200; ++i) pair.second();
  EXPECT_TRUE(pair.merge.speaks(0)) << "a silent stand-by takes nothing over";
  EXPECT_THAT(pair.got, SizeIs(230));
}

TEST(Merge, WhereTheSpeakerIsReplacedNothingThatItGaveComesTwice) {
  Pair pair;
  pair.start();
  for (int i = 0; i < 30; ++i) pair.second();
  auto feeds = pair_of_feeds();
  feeds[0].late_after = std::chrono::seconds(61);
  reload(pair, feeds, {{std::nullopt, 0}, {1, std::nullopt}});
  pair.gives[0] = false;
  for (int i = 0; i < 30; ++i) pair.second();
  EXPECT_TRUE(pair.merge.speaks(1));
  EXPECT_THAT(pair.got, SizeIs(60));
  EXPECT_EQ(std::set<std::uint64_t>(pair.got.begin(), pair.got.end()).size(), 60U);
  // The new one is there and sends its last minute again.
  pair.state(0, FeedState::up);
  for (std::uint64_t id = 20; id < 60; ++id) pair.give(0, id);
  pair.gives[0] = true;
  for (int i = 0; i < 90; ++i) pair.second();
  EXPECT_TRUE(pair.merge.speaks(0));
  EXPECT_THAT(pair.got, SizeIs(150));
  EXPECT_EQ(std::set<std::uint64_t>(pair.got.begin(), pair.got.end()).size(), 150U);
}

TEST(Merge, ALoneFeedThatIsReplacedGivesNothingTwice) {
  Pair pair;
  std::vector<FeedSettings> alone(1);
  alone[0].name = "north";
  pair.merge = FeedMerge(alone);
  pair.state(0, FeedState::up);
  for (std::uint64_t id = 0; id < 30; ++id) pair.give(0, id);
  alone[0].late_after = std::chrono::seconds(61);
  reload(pair, alone, {{std::nullopt, 0}});
  pair.state(0, FeedState::up);
  for (std::uint64_t id = 20; id < 40; ++id) pair.give(0, id);
  EXPECT_THAT(pair.got, SizeIs(40));
}

TEST(Merge, AStandByThatSpeaksGoesOnWhereItIsListedElsewhere) {
  Pair pair;
  pair.start();
  pair.seconds(60);
  pair.gives[0] = false;
  pair.seconds(60);
  ASSERT_TRUE(pair.merge.speaks(1));
  auto feeds = pair_of_feeds();
  feeds.insert(feeds.begin(), FeedSettings{});
  feeds[0].name = "east";
  reload(pair, feeds, {{}, {0, std::nullopt}, {1, std::nullopt}});
  EXPECT_TRUE(pair.merge.speaks(2));
  EXPECT_TRUE(pair.merge.carries(2));
  EXPECT_FALSE(pair.merge.carries(1));
}

}  // namespace
}  // namespace brimwatch
