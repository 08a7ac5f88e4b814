// The worked mappings of config/samples/feeds: each is loaded as it stands, and what its source sends is read to the last
// digit. What is expected was written by hand from the messages.
#include <gmock/gmock.h>
#include <zstd.h>

#include <fstream>
#include <sstream>

#include "adapters/feeds/connections/poll.h"
#include "adapters/feeds/decoding/decoder.h"
#include "adapters/feeds/decoding/event_text.h"
#include "config/loader.h"
#include "core/text/json.h"
#include "feeds/decoding/packed.h"
#include "support/whole_file.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;

const std::string kFolder = BRIMWATCH_SOURCE_DIR "/config/samples/feeds/";

std::string kind_word(TickKind kind) {
  constexpr const char* kWords[] = {"trade", "quote", "cancel", "correct", "status", "bar", "day", "hole"};
  return kWords[static_cast<std::size_t>(kind)];
}

std::string text_of(const Tick& tick, const SymbolTable& symbols) {
  std::ostringstream out;
  out << kind_word(tick.kind) << ' ' << symbols.name(tick.symbol) << ' ' << to_rfc3339(tick.time);
  if (tick.price.is_set()) out << " price " << to_string(tick.price);
  if (tick.size.micros != 0) out << " size " << to_string(tick.size);
  if (!tick.conditions.view().empty()) out << " codes " << tick.conditions.view();
  if (tick.exchange != 0) out << " at " << tick.exchange;
  if (tick.id != 0) out << " id " << tick.id;
  if (tick.day_volume.micros != 0) out << " day " << to_string(tick.day_volume);
  if (tick.bid.is_set()) out << " bid " << to_string(tick.bid);
  if (tick.bid_size.micros != 0) out << " x " << to_string(tick.bid_size);
  if (tick.ask.is_set()) out << " ask " << to_string(tick.ask);
  if (tick.ask_size.micros != 0) out << " x " << to_string(tick.ask_size);
  if (tick.status == TradingStatus::halted) out << " halted";
  return out.str();
}

struct Sample {
  using Change = void (*)(FeedSettings&);
  using Wrap = std::string (*)(const std::string& line);

  explicit Sample(const std::string& name)
      : Sample(
            name, [](FeedSettings&) {}, [](const std::string& l) { return l; }) {}

  /// `wrap`: what the source makes of each line on its way.
  Sample(const std::string& name, Change change, Wrap wrap) {
    const Loaded loaded = load_settings(kFolder + name + ".toml", {{"XNYS"}});
    for (const Problem& one : loaded.problems) ADD_FAILURE() << to_string(one);
    if (loaded.settings.feeds.size() != 1) return;
    FeedSettings settings = with_usual_kind(loaded.settings.feeds[0]);
    change(settings);
    auto decoder = Decoder::make(settings, symbols).value();
    const auto take = [&](std::string_view frame) { decoder.decode(frame, Timestamp{1}, decoded); };
    if (settings.kind == "events") {
      EventSplitter splitter(10'000, take);
      splitter.add(test::whole_file(kFolder + name + ".txt"));
    }
    std::ifstream in(kFolder + name + ".jsonl");
    for (std::string line; std::getline(in, line);) take(wrap(line));
    for (const Tick& tick : decoded.ticks) ticks.push_back(text_of(tick, symbols));
    counts = decoder.counts();
    problem = decoder.last_problem();
  }
  SymbolTable symbols;
  Decoded decoded;
  DecodeCounts counts;
  std::vector<std::string> ticks;
  std::string problem;
};

TEST(FeedSamples, Objects) {
  const Sample sample("objects");
  EXPECT_THAT(sample.ticks,
              ElementsAre("trade KLVN 2026-10-14T14:00:00.000000001Z price 48.20 size 5000 codes @ at N id 41 day 612000",
                          "trade KLVN 2026-10-14T14:00:01.25Z price 48.3601 size 0.5 codes @I at P id 42",
                          "quote KLVN 2026-10-14T14:00:01.3Z bid 48.35 x 300 ask 48.37 x 1200",
                          "trade KLVN 2026-10-14T14:00:02Z price 48.36 size 5000 codes @ at N id 43",
                          "correct KLVN 2026-10-14T14:00:03Z price 48.37 size 4000 id 43 bid 48.36 x 5000",
                          "cancel KLVN 2026-10-14T14:00:04Z id 42", "status ORRJ 2026-10-14T14:00:05Z halted"));
  EXPECT_THAT(sample.decoded.sequences, ElementsAre(1U, 3U, 4U, 5U, 6U, 7U, 8U));
  ASSERT_THAT(sample.decoded.answers, SizeIs(1));
  EXPECT_TRUE(sample.decoded.answers[0].accepted);
  EXPECT_EQ(sample.counts.unknown, 1U) << "the weather";
  EXPECT_EQ(sample.counts.ignored, 2U);
}

TEST(FeedSamples, Rows) {
  const Sample sample("rows");
  EXPECT_THAT(sample.ticks, ElementsAre("trade KLVN 2026-10-14T14:00:00Z price 48.20 size 5000 codes @ id 71",
                                        "trade ORRJ 2026-10-14T14:00:00.001Z price 112.4999 size 12.25 codes I id 72",
                                        "quote KLVN 2026-10-14T14:00:00.5Z bid 48.19 x 300 ask 48.21 x 200",
                                        "trade KLVN 2026-10-14T14:00:01.0025Z price 48.36 size 5000 codes @ id 73"));
  EXPECT_EQ(sample.counts.malformed + sample.counts.frames_broken + sample.counts.unknown, 0U);
}

TEST(FeedSamples, Snapshots) {
  const Sample sample("snapshots");
  EXPECT_THAT(sample.ticks, ElementsAre("day KLVN 2026-10-14T14:00:00.5Z price 48.20 day 612000 bid 48.19 ask 48.21",
                                        "day ORRJ 2026-10-14T13:59:59Z price 112.4999 day 98000.5",
                                        "day KLVN 2026-10-14T14:00:05.25Z price 48.36 day 655300 bid 48.35 ask 48.37",
                                        "day ORRJ 2026-10-14T13:59:59Z price 112.4999 day 98000.5",
                                        "day ORRJ 2026-10-14T14:00:10Z day 98100"));
  EXPECT_EQ(sample.counts.malformed, 1U) << "a state that is null has nothing to say of its symbol";
}

TEST(FeedSamples, Columns) {
  const Sample sample("columns");
  EXPECT_THAT(sample.ticks, ElementsAre("trade KLVN 2026-10-14T14:00:00.25Z price 48.20 size 300 at P id " +
                                            std::to_string(trade_id_of("a1")),
                                        "trade NIVO 2026-10-14T14:00:00.5Z price 7.50 size 25 codes I at P id " +
                                            std::to_string(trade_id_of("a2")),
                                        "trade QUOL.B 2026-10-14T14:00:01Z price 112.4999 size 100 at P id 103",
                                        "trade KLVN 2026-12-01T15:00:00Z price 48.36 size 100 at P id 4",
                                        "trade KLVN 2026-12-01T15:00:00Z price 48.37 size 200 codes I at P id 6"));
  ASSERT_THAT(sample.decoded.replies, SizeIs(1));
  EXPECT_EQ(sample.decoded.replies[0].value, "1791986400");
  ASSERT_THAT(sample.decoded.answers, SizeIs(1));
  EXPECT_EQ(sample.decoded.answers[0].text, "token expired");
  EXPECT_EQ(sample.counts.malformed, 2U) << "a price that is none, and columns of one and of two values";
  ASSERT_THAT(sample.decoded.lost, SizeIs(2));
  EXPECT_EQ(sample.symbols.name(sample.decoded.lost[0].symbol), "KLVN");
  EXPECT_EQ(sample.decoded.lost[1].symbol, kNoSymbol);
}

TEST(FeedSamples, Numbers) {
  const Sample sample("numbers");
  EXPECT_THAT(sample.ticks, ElementsAre("trade KLVN 2026-10-14T14:00:00Z price 48.20 size 300 id 71 day 612000",
                                        "trade HALQ 2026-10-14T14:00:00.000001Z price 7.50 size 25 codes I id 72",
                                        "status NIVO 2026-10-14T14:00:05.5Z halted",
                                        "trade KLVN 2026-10-14T14:00:01Z price 48.365 size 100 id 73 day 613000",
                                        "correct KLVN 2026-10-14T14:00:02Z price 48.36 size 200 id 73 bid 48.365 x 100",
                                        "trade QUOL 2026-10-14T14:00:03Z price 112.4999 size 100 id 74 day 98000"));
  EXPECT_EQ(sample.counts.malformed + sample.counts.unknown + sample.counts.frames_broken, 0U) << sample.problem;
}

// Packed by the reference libraries of each format.
std::string with_zstd(const std::string& text) {
  std::string out(ZSTD_compressBound(text.size()), '\0');
  out.resize(ZSTD_compress(out.data(), out.size(), text.data(), text.size(), 3));
  return out;
}

std::string as_msgpack(const std::string& text) {
  const auto bytes = Json::to_msgpack(Json::parse(text));
  return {bytes.begin(), bytes.end()};
}

TEST(FeedSamples, PackedInEachWay) {
  const auto as_it_is = [](FeedSettings&) {};
  const auto deflate = [](FeedSettings& s) { s.packing = "deflate"; };
  const std::vector<Sample> all{
      {"packed", as_it_is, [](const std::string& line) { return line[2] == 'o' ? line : with_zlib(line, kGzip); }},
      {"packed", deflate, [](const std::string& line) { return with_zlib(line, kZlib); }},
      {"packed", deflate, [](const std::string& line) { return with_zlib(line, kDeflate); }},
      {"packed", [](FeedSettings& s) { s.packing = "zstd"; }, with_zstd},
      {"packed", [](FeedSettings& s) { s.packing = "none", s.encoding = "msgpack"; }, as_msgpack},
      {"packed", [](FeedSettings& s) { s.encoding = "msgpack"; },
       [](const std::string& line) { return with_zlib(as_msgpack(line), kGzip); }},
  };
  for (const Sample& sample : all) {
    EXPECT_THAT(sample.ticks, ElementsAre("trade KLVN 2026-10-14T14:00:00.000000001Z price 48.35 size 300 id 71",
                                          "trade NIVO 2026-10-14T14:00:00.25Z price 7.05 size 0.5 id 72"))
        << sample.problem;
    EXPECT_THAT(sample.decoded.answers, SizeIs(1));
  }
}

TEST(FeedSamples, FramesPackedThoughNobodySaidSoAreTold) {
  const Sample sample(
      "packed", [](FeedSettings& s) { s.packing = "none"; },
      [](const std::string& line) { return with_zlib(line, kGzip); });
  EXPECT_THAT(sample.ticks, IsEmpty());
  EXPECT_EQ(sample.counts.frames_broken, 3U);
  EXPECT_THAT(sample.problem, testing::HasSubstr("frames are packed with gzip; packing = \"gzip\" unpacks them"));
}

TEST(FeedSamples, Events) {
  const Sample sample("events");
  EXPECT_THAT(sample.ticks, ElementsAre("trade KLVN 2026-10-14T14:00:01Z price 48.36 size 100 codes I",
                                        "status NIVO 2026-10-14T14:00:02Z halted",
                                        "trade KLVN 2026-10-14T14:00:03Z price 48.37 size 200 codes ?"));
  EXPECT_EQ(sample.counts.unknown, 1U) << "the weather";
  EXPECT_EQ(sample.counts.malformed + sample.counts.frames_broken, 0U) << sample.problem;
}

}  // namespace
}  // namespace brimwatch
