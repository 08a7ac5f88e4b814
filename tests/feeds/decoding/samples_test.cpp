// The worked mappings of config/samples/feeds: each is loaded as it stands, and what its source sends is read to the last
// digit. What is expected was written by hand from the messages.
#include <gmock/gmock.h>

#include <fstream>
#include <sstream>

#include "adapters/feeds/decoding/decoder.h"
#include "adapters/feeds/poll.h"
#include "config/loader.h"

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
  explicit Sample(const std::string& name) {
    const Loaded loaded = load_settings(kFolder + name + ".toml", {{"XNYS"}});
    for (const Problem& problem : loaded.problems) ADD_FAILURE() << to_string(problem);
    if (loaded.settings.feeds.size() != 1) return;
    auto decoder = Decoder::make(with_usual_kind(loaded.settings.feeds[0]), symbols).value();
    std::ifstream in(kFolder + name + ".jsonl");
    for (std::string line; std::getline(in, line);) {
      decoder.decode(line, Timestamp{1}, decoded);
    }
    for (const Tick& tick : decoded.ticks) ticks.push_back(text_of(tick, symbols));
    counts = decoder.counts();
  }
  SymbolTable symbols;
  Decoded decoded;
  DecodeCounts counts;
  std::vector<std::string> ticks;
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

}  // namespace
}  // namespace brimwatch
