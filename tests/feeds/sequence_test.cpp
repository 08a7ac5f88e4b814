#include "adapters/feeds/sequence.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

bool gap(SequenceGuard& guard, std::uint64_t number, SymbolId symbol = 0) {
  return guard.on_message(symbol, number, {1}).found;
}

TEST(Sequence, OnlyAJumpForwardIsAGap) {
  SequenceGuard guard(false);
  EXPECT_FALSE(gap(guard, 100));  // the first number may be any
  EXPECT_FALSE(gap(guard, 101));
  EXPECT_FALSE(gap(guard, 101));  // two messages of one frame
  EXPECT_TRUE(gap(guard, 103));
  EXPECT_FALSE(gap(guard, 102));  // the late one
  EXPECT_FALSE(gap(guard, 104));
}

TEST(Sequence, ASourceThatBeginsAnewIsNoGap) {
  SequenceGuard guard(false);
  (void)gap(guard, 500'000);
  EXPECT_FALSE(gap(guard, 1));
  EXPECT_FALSE(gap(guard, 2));
  EXPECT_TRUE(gap(guard, 4));
}

TEST(Sequence, CountsEachSymbolForItselfWhereTheSourceDoes) {
  SequenceGuard guard(true);
  (void)gap(guard, 1, 0);
  EXPECT_FALSE(gap(guard, 50, 7));
  EXPECT_TRUE(gap(guard, 3, 0));
  EXPECT_FALSE(gap(guard, 51, 7));
}

TEST(Sequence, AReconnectMayBeginAnywhere) {
  SequenceGuard guard(false);
  (void)gap(guard, 10);
  guard.restart();
  EXPECT_FALSE(gap(guard, 90));
}

TEST(Sequence, WhatGivesNoTickHasItsNumberAllTheSame) {
  SequenceGuard guard(false);
  guard.on_passed(1);
  EXPECT_FALSE(gap(guard, 5)) << "before the first tick nothing was seen";
  guard.on_passed(6);
  EXPECT_FALSE(gap(guard, 7));
  guard.on_passed(9);
  EXPECT_TRUE(gap(guard, 10)) << "8 is missing; it shows at the next tick";
  EXPECT_FALSE(gap(guard, 11));
}

}  // namespace
}  // namespace brimwatch
