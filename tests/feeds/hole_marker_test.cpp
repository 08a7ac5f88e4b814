#include "adapters/feeds/hole_marker.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::SizeIs;

// Heartbeats and symbols that nobody watches, between, before and behind ticks of one frame and of several.
TEST(HoleMarker, AWholeFeedsNumberingRunsOverIgnoredAndUnwatchedMessages) {
  FeedSettings settings;
  settings.fields.symbol = "/s";
  settings.fields.price = "/p";
  settings.fields.sequence = "/n";
  settings.default_kind = "trade";
  settings.rules = {{"/beat", "*", "ignore"}};
  SymbolTable symbols;
  auto decoder = Decoder::make(settings, symbols).value();
  decoder.want({"A"});
  HoleMarker marker(false);
  Decoded decoded;
  const auto gaps = [&](const char* frame) {
    const std::size_t first = decoded.ticks.size();
    decoder.decode(frame, Timestamp{5}, decoded);
    return marker.mark(decoded, first);
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

/// One decoder and its marker, as in a feed.
struct Line {
  Line() {
    FeedSettings settings;
    settings.fields.symbol = "/s";
    settings.fields.price = "/p";
    settings.fields.time = "/t";
    settings.fields.time_format = "s";
    decoder.emplace(Decoder::make(settings, symbols).value());
    decoder->want({"A", "B"});
  }
  const std::vector<Tick>& take(const std::string& frame) {
    decoded.clear();
    decoder->decode(frame, Timestamp{5}, decoded);
    marker.mark(decoded, 0);
    return decoded.ticks;
  }
  static std::string trade(const char* symbol, const char* price, int second) {
    return std::string(R"({"s":")") + symbol + R"(","p":)" + price + R"(,"t":)" + std::to_string(1'764'086'400 + second) +
           "}";
  }
  static Timestamp at(int second) { return Timestamp{(1'764'086'400 + second) * kSecond}; }

  SymbolTable symbols;
  std::optional<Decoder> decoder;
  HoleMarker marker{false};
  Decoded decoded;
};

TEST(HoleMarker, ATradeThatCannotBeReadIsAHoleOfItsSymbol) {
  Line line;
  line.take("[" + Line::trade("A", "1", 0) + "," + Line::trade("B", "1", 1) + "]");
  EXPECT_THAT(line.take(Line::trade("A", "NaN", 2)), SizeIs(0));
  EXPECT_THAT(line.take(Line::trade("B", "1", 3)), SizeIs(1)) << "nothing of B was lost";
  const auto& ticks = line.take(Line::trade("A", "2", 4));
  ASSERT_THAT(ticks, SizeIs(2));
  EXPECT_EQ(ticks[0].kind, TickKind::hole);
  EXPECT_EQ(line.symbols.name(ticks[0].symbol), "A");
  EXPECT_EQ(ticks[0].time, Line::at(0));
  EXPECT_EQ(ticks[0].received, Line::at(4));
  EXPECT_THAT(line.take(Line::trade("A", "2", 5)), SizeIs(1)) << "told once";
}

TEST(HoleMarker, AFrameThatCannotBeReadIsAHoleOfAll) {
  Line line;
  line.take(Line::trade("A", "1", 0));
  line.take(R"({"s":"A","p")");
  const auto& ticks = line.take(Line::trade("B", "1", 3));
  ASSERT_THAT(ticks, SizeIs(2));
  EXPECT_EQ(ticks[0].kind, TickKind::hole);
  EXPECT_EQ(ticks[0].symbol, kNoSymbol);
  EXPECT_EQ(ticks[0].time, Line::at(0));
}

TEST(HoleMarker, BeforeTheFirstTickNothingIsMissing) {
  Line line;
  line.take(Line::trade("A", "NaN", 0));
  EXPECT_THAT(line.take(Line::trade("A", "1", 1)), SizeIs(1));
}

TEST(HoleMarker, OneBadValueInAFrameStandsBetweenItsNeighbours) {
  Line line;
  const auto& ticks =
      line.take("[" + Line::trade("A", "1", 0) + "," + Line::trade("A", "-1", 1) + "," + Line::trade("A", "2", 2) + "]");
  ASSERT_THAT(ticks, SizeIs(3));
  EXPECT_EQ(ticks[1].kind, TickKind::hole);
  EXPECT_EQ(ticks[1].received, Line::at(2));
}

}  // namespace
}  // namespace brimwatch
