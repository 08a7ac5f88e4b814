#include "adapters/feeds/sequence.h"

#include <gtest/gtest.h>

#include "adapters/feeds/decoder.h"

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

// Heartbeats and symbols that nobody watches, between, before and behind ticks of one frame and of several.
TEST(Sequence, AWholeFeedsNumberingRunsOverIgnoredAndUnwatchedMessages) {
  FeedSettings settings;
  settings.fields.symbol = "/s";
  settings.fields.price = "/p";
  settings.fields.sequence = "/n";
  settings.default_kind = "trade";
  settings.rules = {{"/beat", "*", "ignore"}};
  SymbolTable symbols;
  auto decoder = Decoder::make(settings, symbols).value();
  decoder.want({"A"});
  SequenceGuard guard(false);
  Decoded decoded;
  const auto gaps = [&](const char* frame) {
    const std::size_t first = decoded.ticks.size();
    decoder.decode(frame, Timestamp{5}, decoded);
    return mark_gaps(decoded, first, guard);
  };
  EXPECT_EQ(
      gaps(R"([{"beat":1,"n":1},{"s":"A","p":1,"n":2},{"s":"B","p":1,"n":3},{"s":"A","p":2,"n":4},{"beat":1,"n":5}])"),
      0U);
  EXPECT_EQ(gaps(R"({"s":"B","p":1,"n":6})"), 0U);
  EXPECT_EQ(gaps(R"([{"s":"A","p":3,"n":7},{"s":"B","p":1,"n":9},{"s":"A","p":4,"n":10},{"s":"A","p":4,"n":12}])"), 2U);
  decoded.clear();
  EXPECT_EQ(gaps(R"([{"beat":1,"n":13},{"beat":1,"n":15}])"), 0U) << "told with the next tick";
  EXPECT_EQ(gaps(R"({"s":"A","p":5,"n":16})"), 1U);
  ASSERT_EQ(decoded.ticks.size(), 2U);
  EXPECT_EQ(decoded.ticks[0].kind, TickKind::hole);
}

}  // namespace
}  // namespace brimwatch
