#include "rehearsal/source.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::Each;
using testing::ElementsAre;
using testing::IsEmpty;

constexpr Timestamp kStart{1'000'000 * kSecond};  // its local midnight is taken to be an hour before

/// A tape of trades of one symbol, one a second, told apart by their ids.
std::vector<Tick> tape(int count) {
  std::vector<Tick> out;
  for (int i = 0; i < count; ++i) {
    Tick tick;
    tick.symbol = 0;
    tick.id = static_cast<std::uint64_t>(i) + 1;
    tick.time = kStart + i * kSecond;
    tick.price = Price{10'000'000};
    tick.size = Shares::whole(100);
    out.push_back(tick);
  }
  return out;
}

std::vector<SourceStep> play(const std::vector<Tick>& ticks, std::vector<std::string> misbehaviours, double speed = 1,
                             std::uint64_t seed = 7, SourceCounts* counts = nullptr) {
  SourceOptions options;
  options.speed = speed;
  options.seed = seed;
  for (const auto& text : misbehaviours) options.misbehaviours.push_back(parse_misbehaviour(text).value());
  options.moment = [](Timestamp, int second) { return kStart + (second - 3600) * kSecond; };
  RehearsalSource source(std::move(options));
  std::vector<SourceStep> out;
  std::size_t at = 0;
  for (Nanos now = 0; !source.ended(); now += kSecond / 4) {
    while (source.wants_more(now)) at < ticks.size() ? source.add(ticks[at++]) : source.end();
    while (auto step = source.next(now)) {
      EXPECT_LE(step->due, now);
      out.push_back(*step);
    }
  }
  if (counts != nullptr) *counts = source.counts();
  return out;
}

/// Who came when: "id@seconds", and what is no message by its name.
std::vector<std::string> told(const std::vector<SourceStep>& steps) {
  std::vector<std::string> out;
  for (const SourceStep& step : steps) {
    std::string what;
    switch (step.kind) {
      case SourceStep::Kind::message:
        what = std::to_string(step.tick.id) + (step.garble != 0 ? "!" : "");
        break;
      case SourceStep::Kind::close:
        what = "close " + std::to_string(step.code);
        break;
      case SourceStep::Kind::cut:
        what = "cut";
        break;
      case SourceStep::Kind::away:
        what = "away " + std::to_string(step.span / kSecond);
        break;
    }
    out.push_back(what + "@" + std::to_string(step.due / kSecond));
  }
  return out;
}

TEST(RehearsalSource, PlaysATapeInItsOwnTimeAndFaster) {
  EXPECT_THAT(told(play(tape(4), {})), ElementsAre("1@0", "2@1", "3@2", "4@3"));
  EXPECT_THAT(told(play(tape(5), {}, 2)), ElementsAre("1@0", "2@0", "3@1", "4@1", "5@2"));
}

TEST(RehearsalSource, NumbersCountUpForEachSymbolAlsoOverWhatIsDropped) {
  auto ticks = tape(4);
  ticks[1].symbol = 3;
  std::vector<std::uint64_t> numbers;
  for (const auto& step : play(ticks, {"lose:1@01:00:02"})) numbers.push_back(step.number);
  EXPECT_THAT(numbers, ElementsAre(1U, 1U, 3U)) << "the third of the tape, the second of its symbol, is missing";
}

TEST(RehearsalSource, HolesOfARecordingAreNotPlayed) {
  auto ticks = tape(3);
  ticks[1].kind = TickKind::hole;
  EXPECT_THAT(told(play(ticks, {})), ElementsAre("1@0", "3@2"));
}

TEST(RehearsalSource, AStallHoldsEverythingBackAndThenGivesIt) {
  EXPECT_THAT(told(play(tape(6), {"stall:3@01:00:01"})), ElementsAre("1@0", "2@4", "3@4", "4@4", "5@4", "6@5"));
}

TEST(RehearsalSource, ALossNeverComes) {
  SourceCounts counts;
  EXPECT_THAT(told(play(tape(6), {"lose:3@01:00:01"}, 1, 7, &counts)), ElementsAre("1@0", "5@4", "6@5"));
  EXPECT_EQ(counts.dropped, 3U);
  EXPECT_EQ(counts.messages, 6U);
}

TEST(RehearsalSource, ADelayMakesEverythingLateFromItsMomentOn) {
  EXPECT_THAT(told(play(tape(4), {"delay:5"})), ElementsAre("1@5", "2@6", "3@7", "4@8"));
  EXPECT_THAT(told(play(tape(4), {"delay:5@01:00:02"})), ElementsAre("1@0", "2@1", "3@7", "4@8"));
  EXPECT_THAT(told(play(tape(3), {"delay:4"}, 2)), ElementsAre("1@2", "2@2", "3@3")) << "seconds are the tape's";
}

TEST(RehearsalSource, EndsConnectionsWhenAsked) {
  EXPECT_THAT(told(play(tape(3), {"close:1013@01:00:01", "cut@01:00:02", "away:9@01:00:02"})),
              ElementsAre("1@0", "close 1013@1", "2@1", "cut@2", "away 9@2", "3@2"));
  EXPECT_THAT(told(play(tape(2), {"cut@00:59:59"})), ElementsAre("1@0", "2@1")) << "before the tape: never";
}

TEST(RehearsalSource, WhatHappensOnceAtNoGivenMomentHappensInTheFirstHour) {
  const auto steps = play(tape(3700), {"cut", "close"});
  std::vector<Nanos> moments;
  for (const auto& step : steps) {
    if (step.kind != SourceStep::Kind::message) moments.push_back(step.due / kSecond);
  }
  EXPECT_THAT(moments, testing::SizeIs(2));
  EXPECT_THAT(moments, Each(testing::AllOf(testing::Ge(60), testing::Le(3600))));
}

TEST(RehearsalSource, ChanceHitsAsOftenAsAskedAndAlikeForOneSeed) {
  for (const char* what : {"drop:10", "garbage:10", "duplicate:10", "reorder:10"}) {
    SourceCounts counts;
    const auto steps = play(tape(10'000), {what}, 1000, 5, &counts);
    const auto hits = counts.dropped + counts.garbled + counts.doubled + counts.reordered;
    // Binomial: 1000 expected, standard deviation 30; five of them either way.
    EXPECT_GT(hits, 750U) << what;
    EXPECT_LT(hits, 1150U) << what;
    EXPECT_EQ(steps.size(), 10'000 - counts.dropped + counts.doubled) << what;
    EXPECT_EQ(told(steps), told(play(tape(10'000), {what}, 1000, 5))) << what;
    EXPECT_NE(told(steps), told(play(tape(10'000), {what}, 1000, 6))) << what;
  }
  EXPECT_THAT(play(tape(100), {"drop:100"}), IsEmpty());
}

TEST(RehearsalSource, WhatIsOutOfOrderComesBehindTheNextOneAndIsNeverLost) {
  EXPECT_THAT(told(play(tape(4), {"reorder:100"})), ElementsAre("2@1", "1@1", "4@3", "3@3"));
  EXPECT_THAT(told(play(tape(3), {"reorder:100"})), ElementsAre("2@1", "1@1", "3@2"));
}

TEST(RehearsalSource, ATapeOutOfOrderKeepsItsOrder) {
  auto ticks = tape(3);
  std::swap(ticks[1].time, ticks[2].time);
  EXPECT_THAT(told(play(ticks, {})), ElementsAre("1@0", "2@2", "3@2"));
}

}  // namespace
}  // namespace brimwatch
