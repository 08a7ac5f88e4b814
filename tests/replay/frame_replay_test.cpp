// Recorded frames come to the ticks that the engine took live: through numbering, screening, holes and failover.
#include "replay/frame_replay.h"

#include <gmock/gmock.h>

#include "tests/tape/temporary.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

constexpr std::int64_t kTen = 1'791'986'400;  // 2026-10-14, ten o'clock in New York

Timestamp at(double second) { return Timestamp{kTen * kSecond + static_cast<Nanos>(second * 1e9)}; }

FeedSettings feed(const std::string& name, const std::string& standby_for = "") {
  FeedSettings settings;
  settings.name = name;
  settings.kind = "stream";
  settings.standby_for = standby_for;
  settings.fields.symbol = "/s";
  settings.fields.price = "/p";
  settings.fields.size = "/q";
  settings.fields.time = "/t";
  settings.fields.time_format = "s";
  settings.fields.id = "/i";
  return settings;
}

std::string trade(int second, int price = 10) {
  return R"({"s":"KLVN","q":1,"p":)" + std::to_string(price) + R"(,"t":)" + std::to_string(kTen + second) + R"(,"i":")" +
         std::to_string(1000 + second) + "\"}";
}

/// A recording that a test writes, and the ticks that it comes to.
struct Recorded {
  Recorded() : writer(FrameWriter::create(directory / "frames.zst").value()) {}

  void frame(double second, const std::string& name, const std::string& bytes) {
    EXPECT_TRUE(writer->write({Frame::Kind::bytes, at(second), name, bytes, {}, 0, false}));
  }
  void connection(double second, const std::string& name, bool up) {
    EXPECT_TRUE(writer->write({Frame::Kind::connection, at(second), name, "why", {}, 0, up}));
  }
  std::vector<std::string> ticks(const std::vector<FeedSettings>& feeds, const PastDayOf& past_day = {}) {
    EXPECT_TRUE(writer->close());
    const auto always = [](Timestamp) { return true; };
    replay = FrameReplay::open(open_bytes(directory / "frames.zst").value(), feeds, symbols, always, past_day).value();
    std::vector<std::string> out;
    for (;;) {
      const auto some = replay->next();
      EXPECT_TRUE(some);
      if (!some || some->empty()) return out;
      for (const Tick& tick : *some) out.push_back(text(tick));
    }
  }
  static std::string text(const Tick& tick) {
    const auto second = [](Timestamp time) { return std::to_string((time.ns - kTen * kSecond) / kSecond); };
    if (tick.kind == TickKind::hole) return "hole " + second(tick.time) + "-" + second(tick.received);
    return second(tick.time);
  }

  TemporaryDirectory directory;
  SymbolTable symbols;
  std::unique_ptr<FrameWriter> writer;
  std::unique_ptr<FrameReplay> replay;
};

TEST(FrameReplay, AConnectionThatWasGoneIsAHole) {
  Recorded recorded;
  recorded.connection(0, "main", true);
  for (int second = 0; second < 3; ++second) recorded.frame(second, "main", trade(second));
  recorded.connection(3, "main", false);
  recorded.connection(9, "main", true);
  recorded.frame(10, "main", trade(10));
  EXPECT_THAT(recorded.ticks({feed("main")}), ElementsAre("0", "1", "2", "hole 2-10", "10"));
}

TEST(FrameReplay, WhatTwoFeedsBroughtComesOnce) {
  Recorded recorded;
  for (const char* name : {"main", "spare"}) recorded.connection(0, name, true);
  for (int second = 0; second < 3; ++second) {
    for (const char* name : {"main", "spare"}) recorded.frame(second, name, trade(second));
  }
  recorded.connection(3, "main", false);
  for (int second = 3; second < 5; ++second) recorded.frame(second, "spare", trade(second));
  EXPECT_THAT(recorded.ticks({feed("main"), feed("spare", "main")}), ElementsAre("0", "1", "2", "3", "4"));
}

TEST(FrameReplay, ASilentPrimaryIsReplacedAsItWasLive) {
  Recorded recorded;
  for (const char* name : {"main", "spare"}) recorded.connection(0, name, true);
  for (int n = 0; n < 400; ++n) {  // busy enough that a minute of nothing is beyond chance
    recorded.frame(n, "main", trade(n));
    recorded.frame(n, "spare", trade(n));
  }
  for (int n = 400; n < 800; ++n) recorded.frame(n, "spare", trade(n));
  const auto ticks = recorded.ticks({feed("main"), feed("spare", "main")});
  EXPECT_THAT(ticks, SizeIs(800)) << "none twice, none lost";
}

TEST(FrameReplay, ARecordingOfTheFirstVersionNeedsNoConnections) {
  Recorded recorded;
  recorded.frame(0, "main", trade(0));
  recorded.frame(1, "main", trade(1));
  recorded.frame(2, "main", trade(1));
  EXPECT_THAT(recorded.ticks({feed("main")}), ElementsAre("0", "1")) << "the same trade again is screened away, as live";
}

TEST(FrameReplay, AGapInTheNumberingIsAHoleAndAReconnectIsNone) {
  Recorded recorded;
  FeedSettings settings = feed("main");
  settings.fields.sequence = "/n";
  const auto numbered = [](int second, int number) {
    std::string text = trade(second);
    text.back() = ',';
    return text + R"("n":)" + std::to_string(number) + "}";
  };
  recorded.connection(0, "main", true);
  recorded.frame(0, "main", numbered(0, 7));
  recorded.frame(1, "main", numbered(1, 9));
  recorded.connection(1.1, "main", false);
  recorded.connection(1.2, "main", true);
  recorded.frame(1.5, "main", numbered(2, 500));
  EXPECT_THAT(recorded.ticks({settings}), ElementsAre("0", "hole 0-1", "1", "hole 1-2", "2"));
}

// The answers of a source come before the first tick of a played day, with today's time.
TEST(FrameReplay, TimesOfReceiptThatGoBackMakeNoHoleAndHideNone) {
  Recorded recorded;
  recorded.connection(4'000'000, "main", true);
  recorded.frame(0, "main", trade(0));
  recorded.connection(1, "main", false);
  recorded.connection(5, "main", true);
  recorded.frame(6, "main", trade(6));
  EXPECT_THAT(recorded.ticks({feed("main")}), ElementsAre("0", "hole 0-6", "6"));
}

TEST(FrameReplay, FeedsThatTheConfigurationDoesNotHaveAreNamed) {
  Recorded recorded;
  recorded.frame(0, "other", trade(0));
  EXPECT_THAT(recorded.ticks({feed("main")}), IsEmpty());
  EXPECT_THAT(recorded.replay->remarks(), ElementsAre(HasSubstr("\"other\"")));
}

// As live: what came of a day that was over by the clock of its receipt was left out then.
TEST(FrameReplay, OfADayThatWasOverWhenItCameNothingIsPlayedUnlessItIsWanted) {
  const auto day = [](SymbolId, Timestamp time, Timestamp now) {
    return time + kDayNanos < now ? std::optional(Date::of(2026, 10, 14)) : std::nullopt;
  };
  for (const bool told : {false, true}) {
    Recorded recorded;
    FeedSettings main = feed("main");
    if (told) main.past_days = "tell";
    recorded.frame(4 * 86'400, "main", trade(1));  // four days after it
    EXPECT_THAT(recorded.ticks({main}, day), SizeIs(told ? 1 : 0));
    const auto remarks = recorded.replay->remarks();
    EXPECT_THAT(remarks, SizeIs(told ? 0 : 1));
    if (told) continue;
    EXPECT_THAT(remarks[0], HasSubstr("1 tick was of a day that was over on receipt"));
  }
}

}  // namespace
}  // namespace brimwatch
