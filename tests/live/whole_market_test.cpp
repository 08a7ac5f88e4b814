// A whole market that trades all the time: a notice waits for none of the states that have nothing to do with it, and
// what is in the journal at any moment is enough to begin anew from.
#include "desk/changed_states.h"
#include "house_rig.h"

namespace brimwatch::simulation {
namespace {

using testing::ElementsAre;
using testing::Field;
using testing::IsEmpty;
using testing::Le;
using testing::SizeIs;

constexpr int kStocks = 1000;

std::string stock(int number) {
  char name[8];
  std::snprintf(name, sizeof name, "S%04d", number);
  return name;
}

struct WholeMarket : HouseRig {
  void change(Settings& settings) override {
    settings.watches = {};
    for (int i = 0; i < kStocks; ++i) settings.watches.push_back(test::watch_on(stock(i), "20.00"));
  }
  void SetUp() override {
    open();
    house->restore({});
    begin();
    trade_all();
    pass(20 * kSecond);
    sent.clear();
    keeper.remembers_each = true;
  }
  void trade_all() {
    for (int i = 0; i < kStocks; ++i) trade(stock(i).c_str(), "19.80");
  }
  /// What the journal has at this moment.
  [[nodiscard]] RestoredState kept_now() const {
    JournalBatch all;
    append(all, JournalBatch(keeper.kept));
    coalesce(all);
    RestoredState kept;
    kept.watches = all.watches, kept.symbols = all.symbols;
    return kept;
  }
  void begin_anew(RestoredState kept) {
    pass(20 * kSecond);  // nothing of the one before is on its way
    house = nullptr;
    keeper.kept = {};
    open();
    house->restore(std::move(kept));
    begin();
  }
};

TEST_F(WholeMarket, ACrossingIsKeptWithItsOwnStockAndWaitsForNoOther) {
  trade_all();
  trade("S0007", "20.10");
  ASSERT_THAT(keeper.each, SizeIs(1));
  const JournalBatch& batch = keeper.each[0];
  EXPECT_THAT(batch.notices, SizeIs(1));
  EXPECT_THAT(batch.symbols, ElementsAre(Field(&SymbolState::symbol, "S0007")));
  ASSERT_THAT(batch.watches, ElementsAre(Field(&WatchState::symbol, "S0007")));
  EXPECT_EQ(batch.watches[0].side, Side::inside) << "as the notice left it";
}

TEST_F(WholeMarket, TheRestFollowsInPartsAndLacksNothing) {
  trade_all();
  const Timestamp traded = time.truth();
  trade("S0007", "20.10");
  pass(6 * kSecond);
  const RestoredState kept = kept_now();
  ASSERT_THAT(kept.symbols, SizeIs(kStocks));
  for (const SymbolState& state : kept.symbols) EXPECT_EQ(state.last_time, traded) << state.symbol;
  EXPECT_GE(keeper.each.size(), kStocks / ChangedStates::Sizes().part_least);
  for (const JournalBatch& batch : keeper.each) EXPECT_THAT(rows_of(batch), Le(2 * ChangedStates::Sizes().part_least));
  const auto kept_before = [](const SymbolState& a, const SymbolState& b) { return a.all_kept_until < b.all_kept_until; };
  const auto newest = std::max_element(kept.symbols.begin(), kept.symbols.end(), kept_before);
  EXPECT_EQ(newest->all_kept_until, traded);
  keeper.each.clear();
  pass(kMinute);
  for (const JournalBatch& batch : keeper.each) EXPECT_THAT(batch.symbols, IsEmpty()) << "written once";
}

TEST_F(WholeMarket, NoticesWithoutEndDoNotKeepTheRestFromTheJournal) {
  trade_all();
  const Timestamp traded = time.truth();
  for (int i = 0; i < 60; ++i) {
    trade(stock(i).c_str(), "20.10");
    time.run_until(time.truth() + kBeat / 2);
    trade(stock(100 + i).c_str(), "20.10");  // while the other is being written
    time.run_until(time.truth() + kBeat / 2);
    house->on_beat();
  }
  const RestoredState kept = kept_now();
  ASSERT_THAT(kept.symbols, SizeIs(kStocks));
  for (const SymbolState& state : kept.symbols) EXPECT_GE(state.last_time, traded) << state.symbol;
}

/// Killed after a crossing, when of the others the journal has what they were seconds ago.
TEST_F(WholeMarket, AfterAKillTheBlindTimeBeginsWithWhatIsKeptOfAll) {
  const Timestamp all_kept = time.truth() - 20 * kSecond;
  pass(2 * kSecond);
  trade_all();
  trade("S0007", "20.10");
  time.run_until(time.truth() + kSecond / 10);
  const RestoredState kept = kept_now();
  const Timestamp killed = time.truth();
  begin_anew(kept);
  trade("S0001", "19.90");
  trade("S0007", "20.10");
  pass(10 * kSecond);
  ASSERT_THAT(keeper.kept.holes, SizeIs(1));
  EXPECT_LE(keeper.kept.holes[0].from, all_kept) << "and not only since " << killed.ns;
  EXPECT_EQ(times_sent("S0007"), 1U) << "told before the kill, and not again";
}

}  // namespace
}  // namespace brimwatch::simulation
