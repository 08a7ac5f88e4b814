// What the played source says is read back by the decoder under the configuration that it prints for itself, and by an
// independent JSON library.
#include "rehearsal/message.h"

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>

#include "adapters/feeds/decoding/decoder.h"
#include "config/loader.h"
#include "core/text/json.h"
#include "tests/config/folder.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

constexpr Timestamp kTime{1'792'000'000'123'456'000};

/// Every kind with every field it may have.
std::vector<Tick> ticks_of_all_kinds() {
  std::vector<Tick> out;
  for (const TickKind kind : {TickKind::trade, TickKind::quote, TickKind::cancel, TickKind::correct, TickKind::status,
                              TickKind::bar, TickKind::day}) {
    Tick tick;
    tick.kind = kind;
    tick.symbol = 0;
    tick.time = kTime;
    const bool has_price = kind != TickKind::quote && kind != TickKind::status;
    if (has_price) tick.price = Price{48'350'100};
    if (has_price && kind != TickKind::day) tick.size = Shares{1'500'000};
    if (kind == TickKind::trade || kind == TickKind::day) tick.day_volume = Shares::whole(612'345);
    if (kind == TickKind::trade) {
      tick.conditions = Conditions::of("@ I");
      tick.exchange = 'N';
    }
    if (kind == TickKind::trade || kind == TickKind::cancel || kind == TickKind::correct)
      tick.id = 18'446'744'073'709'551'615U;
    if (kind == TickKind::quote || kind == TickKind::day || kind == TickKind::bar) {
      tick.bid = Price{48'340'000};
      tick.ask = Price{48'360'000};
    }
    if (kind == TickKind::quote) tick.bid_size = tick.ask_size = Shares::whole(3);
    if (kind == TickKind::correct) {
      tick.bid = Price{48'000'000};
      tick.bid_size = Shares::whole(7);
    }
    if (kind == TickKind::status) tick.status = TradingStatus::halted;
    out.push_back(tick);
  }
  return out;
}

/// The feed of the configuration that is printed.
FeedSettings printed(ServeAs as) {
  const Folder folder;
  const auto loaded = load_settings(folder.write("b.toml", feed_configuration(as, 8731, 60)), {{"XNYS"}});
  EXPECT_THAT(folder.lines(loaded.problems), testing::IsEmpty());
  return loaded.settings.feeds.empty() ? FeedSettings{} : loaded.settings.feeds[0];
}

TEST(RehearsalMessage, IsReadBackToTheLastDigitUnderThePrintedConfiguration) {
  SymbolTable symbols;
  symbols.intern("KLVN");
  auto decoder = Decoder::make(printed(ServeAs::stream), symbols).value();
  for (const Tick& sent : ticks_of_all_kinds()) {
    std::string text;
    append_message(text, sent, "KLVN", 17);
    EXPECT_TRUE(Json::accept(text)) << text;
    Decoded got;
    decoder.decode(text, sent.time, got);
    ASSERT_EQ(got.ticks.size(), 1U) << text << "\n" << decoder.last_problem();
    const Tick& read = got.ticks[0];
    EXPECT_EQ(read.kind, sent.kind) << text;
    EXPECT_EQ(read.time, sent.time) << text;
    EXPECT_EQ(read.price, sent.price) << text;
    EXPECT_EQ(read.size, sent.size) << text;
    EXPECT_EQ(read.conditions, sent.conditions) << text;
    EXPECT_EQ(read.exchange, sent.exchange) << text;
    EXPECT_EQ(read.id, sent.id) << text;
    EXPECT_EQ(read.day_volume, sent.day_volume) << text;
    EXPECT_EQ(read.bid, sent.bid) << text;
    EXPECT_EQ(read.ask, sent.ask) << text;
    EXPECT_EQ(read.bid_size, sent.bid_size) << text;
    EXPECT_EQ(read.ask_size, sent.ask_size) << text;
    EXPECT_EQ(read.status, sent.status) << text;
    EXPECT_EQ(got.sequences, std::vector<std::uint64_t>{17}) << text;
  }
}

TEST(RehearsalMessage, ThePrintedConfigurationIsRightAndSaysWhatItIs) {
  const FeedSettings stream = printed(ServeAs::stream);
  EXPECT_EQ(stream.url, "ws://127.0.0.1:8731/stream");
  EXPECT_EQ(stream.rehearsal, 60);
  const FeedSettings poll = printed(ServeAs::poll);
  EXPECT_EQ(poll.url, "http://127.0.0.1:8731/quotes?symbols={symbols}");
  EXPECT_EQ(poll.kind, "poll");
}

TEST(RehearsalMessage, GarbageIsNeverTakenForAMessage) {
  SymbolTable symbols;
  auto decoder = Decoder::make(printed(ServeAs::stream), symbols).value();
  std::string text;
  append_message(text, ticks_of_all_kinds()[0], "KLVN", 1);
  for (std::uint64_t choice = 1; choice < 200'000; choice += 2) {
    Decoded got;
    decoder.decode(garbled(text, choice * 0x9E3779B97F4A7C15U), kTime, got);
    ASSERT_TRUE(got.ticks.empty()) << garbled(text, choice * 0x9E3779B97F4A7C15U);
  }
  EXPECT_EQ(decoder.counts().frames_broken + decoder.counts().malformed, 100'000U);
}

TEST(RehearsalMessage, WritesAnyTextAsJson) {
  std::string out;
  append_json_text(out, "a\"b\\c\n\x01\xc3\xa9");
  EXPECT_EQ(Json::parse(out).get<std::string>(), "a\"b\\c\n\x01\xc3\xa9");
}

}  // namespace
}  // namespace brimwatch
