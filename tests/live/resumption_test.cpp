#include "live/resumption.h"

#include <gtest/gtest.h>

#include "support/new_york.h"

namespace brimwatch {
namespace {

using test::kTen;

Tick at(Nanos after, TickKind kind = TickKind::trade, SymbolId symbol = 0) {
  Tick tick;
  tick.time = kTen + after;
  tick.kind = kind;
  tick.symbol = symbol;
  return tick;
}

/// A source that sends its last minute to whoever connects: what was counted before the restart is not counted again.
TEST(Resumption, WhatTheJournalKnewIsLeftOutAndTheRestTaken) {
  Resumption resumption;
  resumption.know(0, kTen);
  resumption.know(1, kTen + 10 * kSecond);
  resumption.know_of_all(kTen + 10 * kSecond);
  const std::vector<Tick> sent{at(-kSecond),
                               at(0),
                               at(kSecond),
                               at(5 * kSecond, TickKind::trade, 1),
                               at(5 * kSecond, TickKind::cancel),
                               at(11 * kSecond, TickKind::cancel),
                               at(-kSecond, TickKind::status)};
  const auto fresh = resumption.fresh(sent);
  ASSERT_EQ(fresh.size(), 3U);
  EXPECT_EQ(fresh[0].time, kTen + kSecond);
  EXPECT_EQ(fresh[1].kind, TickKind::cancel);
  EXPECT_EQ(fresh[1].time, kTen + 11 * kSecond);
  EXPECT_EQ(fresh[2].kind, TickKind::status);
}

/// States of a whole market are written one after the other: a stock's may be newer than what is kept of all.
TEST(Resumption, ACancelOfAStockThatIsKeptFurtherThanAllIsLeftOutToo) {
  Resumption resumption;
  resumption.know(0, kTen + 4 * kSecond);
  resumption.know(1, kTen - kSecond);
  resumption.know_of_all(kTen);
  const std::vector<Tick> sent{at(0, TickKind::cancel, 1), at(kSecond, TickKind::cancel, 1),
                               at(kSecond, TickKind::cancel), at(5 * kSecond, TickKind::cancel)};
  const auto fresh = resumption.fresh(sent);
  ASSERT_EQ(fresh.size(), 2U);
  EXPECT_EQ(fresh[0].symbol, 1U);
  EXPECT_EQ(fresh[0].time, kTen + kSecond);
  EXPECT_EQ(fresh[1].time, kTen + 5 * kSecond);
}

TEST(Resumption, WithNothingKnownEverythingIsTaken) {
  Resumption resumption;
  const std::vector<Tick> sent{at(-kSecond), at(0)};
  EXPECT_EQ(resumption.fresh(sent).size(), 2U);
}

TEST(Resumption, APrintDatedTomorrowInFrontHidesNoRepetition) {
  Resumption resumption;
  resumption.know(0, kTen);
  const std::vector<Tick> sent{at(kDayNanos), at(-kSecond), at(kSecond)};
  EXPECT_EQ(resumption.fresh(sent).size(), 2U);
  const std::vector<Tick> later{at(-kSecond)};
  EXPECT_TRUE(resumption.fresh(later).empty());
}

TEST(Resumption, WhatIsNewComesThroughWithoutACopy) {
  Resumption resumption;
  resumption.know(0, kTen);
  const std::vector<Tick> next{at(kDayNanos)};
  EXPECT_EQ(resumption.fresh(next).data(), next.data());
}

}  // namespace
}  // namespace brimwatch
