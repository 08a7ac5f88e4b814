#include "rehearsal/snapshots.h"

#include <gtest/gtest.h>

#include "core/text/json.h"

namespace brimwatch {
namespace {

Tick trade(SymbolId symbol, std::int64_t price, std::int64_t shares) {
  Tick tick;
  tick.symbol = symbol;
  tick.time = Timestamp{1'792'000'000 * kSecond};
  tick.price = Price{price * kMicrosPerUnit};
  tick.size = Shares::whole(shares);
  return tick;
}

struct Table {
  Table() {
    names.intern("KLVN");
    names.intern("ORRJ");
  }
  Json ask(const std::vector<SymbolId>& ids) { return Json::parse(snapshots.json(ids, names))["quotes"]; }
  SymbolTable names;
  Snapshots snapshots;
};

TEST(Snapshots, ShowTheLastOfEachAndAddUpTheVolume) {
  Table table;
  EXPECT_TRUE(table.ask({0, 1}).empty());
  table.snapshots.take(trade(0, 10, 100));
  table.snapshots.take(trade(1, 20, 5));
  table.snapshots.take(trade(0, 11, 200));
  const auto both = table.ask({1, 0});
  ASSERT_EQ(both.size(), 2U);
  EXPECT_EQ(both[0]["symbol"], "ORRJ");
  EXPECT_EQ(both[1]["price"], "11.00");
  EXPECT_EQ(both[1]["day_volume"], "300");
}

TEST(Snapshots, TakeBackWhatIsCancelledAndCorrected) {
  Table table;
  table.snapshots.take(trade(0, 10, 100));
  Tick cancel = trade(0, 10, 40);
  cancel.kind = TickKind::cancel;
  table.snapshots.take(cancel);
  Tick correct = trade(0, 12, 50);
  correct.kind = TickKind::correct;
  correct.bid_size = Shares::whole(60);
  table.snapshots.take(correct);
  EXPECT_EQ(table.ask({0})[0]["day_volume"], "50");
  EXPECT_EQ(table.ask({0})[0]["price"], "12.00");
}

TEST(Snapshots, TheTapesOwnDayVolumeWins) {
  Table table;
  Tick tick = trade(0, 10, 100);
  tick.day_volume = Shares::whole(5000);
  table.snapshots.take(tick);
  table.snapshots.take(trade(0, 10, 100));
  EXPECT_EQ(table.ask({0})[0]["day_volume"], "5000");
}

TEST(Snapshots, TheVersionChangesWithEveryChangeOnly) {
  Table table;
  const auto before = table.snapshots.version();
  Tick status = trade(0, 10, 1);
  status.kind = TickKind::status;
  table.snapshots.take(status);
  EXPECT_EQ(table.snapshots.version(), before);
  table.snapshots.take(trade(0, 10, 1));
  EXPECT_NE(table.snapshots.version(), before);
}

}  // namespace
}  // namespace brimwatch
