// Each figure of a feed in the metrics counts what its help says: a source says so many things, byte for byte, through
// the decoder and the keeper of the feeds as in the daemon, and the text is read as a monitoring program reads it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <boost/asio/io_context.hpp>
#include <cmath>
#include <map>
#include <sstream>

#include "adapters/feeds/intake.h"
#include "live/feed_set.h"
#include "status/metrics.h"
#include "support/new_york.h"

namespace brimwatch {
namespace {

using test::kMorning;
using testing::ElementsAre;
using testing::IsEmpty;
using testing::Pair;

/// A source whose bytes and whose connection are in a test's hand.
class SpokenFeed final : public Feed {
 public:
  SpokenFeed(const FeedSettings& settings, const FeedContext& context, Decoder decoder)
      : intake_(settings, context, std::move(decoder)) {}
  void start(FeedListener& listener) override {
    intake_.attach(&listener);
    intake_.set_state(FeedState::connecting, "connecting");
  }
  void stop() override { intake_.set_state(FeedState::stopped, "stopped"); }
  void subscribe(const std::vector<std::string>& symbols) override { intake_.want(symbols); }
  [[nodiscard]] FeedHealth health() const override { return intake_.health(); }

  void set(FeedState state) { intake_.set_state(state, "as the test says"); }
  void say(const std::string& frame) {
    intake_.take(frame);
    intake_.flush();
  }

 private:
  Intake intake_;
};

struct MetricsOfFeeds : testing::Test {
  void SetUp() override { watch({settings("main")}); }

  static FeedSettings settings(const std::string& name, const std::string& standby_for = "") {
    FeedSettings one;
    one.name = name, one.kind = "stream", one.standby_for = standby_for;
    FieldMap& fields = one.fields;
    fields.symbol = "/s", fields.price = "/p", fields.size = "/n", fields.time = "/t", fields.time_format = "ms";
    fields.exchange = "/x", fields.id = "/i", fields.kind = "/k", fields.sequence = "/q";
    fields.day_volume = "/v", fields.bid = "/b", fields.ask = "/a";
    one.default_kind = "";
    for (const char* const word : {"trade", "quote", "day", "cancel"}) one.kind_words[word] = word;
    return one;
  }

  void watch(const std::vector<FeedSettings>& feeds) {
    auto made = set.make(feeds);
    ASSERT_TRUE(made) << made.error().text;
    set.set(feeds, {"KLVN", "ORRI"}, std::move(*made));
    for (auto& [name, feed] : sources) feed->set(FeedState::up);
    pass(0);
  }

  FeedSet::World world() {
    return {context.wall, context.steady, [](LogLevel, std::string_view) {},
            [this](const FeedSettings& with) -> Result<std::unique_ptr<Feed>> {
              auto decoder = Decoder::make(with, symbols);
              if (!decoder) return fail(decoder.error().text);
              auto feed = std::make_unique<SpokenFeed>(with, context, std::move(*decoder));
              sources[with.name] = feed.get();
              return feed;
            },
            [](SymbolId, Timestamp time, Timestamp now) -> std::optional<Date> {
              if (now - time < kDayNanos) return std::nullopt;
              return Date{static_cast<std::int32_t>(time.ns / kDayNanos)};
            }};
  }
  static FeedSet::Events events() {
    FeedSet::Events to;
    to.ticks = [](std::span<const Tick>) {};
    to.event = [](const FeedEvent&) {};
    to.state = [](std::size_t, Timestamp, FeedState, std::string_view) {};
    to.frame = [](std::size_t, Timestamp, std::string_view) {};
    return to;
  }

  /// In session, four looks a second as in the daemon.
  void pass(Nanos span) {
    set.on_time(true);
    for (const Nanos end = at + span; at < end;) {
      at += kSecond / 4;
      set.on_time(true);
    }
  }
  /// A message with its time; `later` than now, of the exchange's clock.
  void say(const std::string& rest, Nanos later = 0, const std::string& feed = "main") {
    const std::int64_t ms = (kMorning + at + later).ns / 1'000'000;
    sources.at(feed)->say("{\"t\":" + std::to_string(ms) + "," + rest + "}");
  }
  void trade(const std::string& symbol = "KLVN", Nanos later = 0, const std::string& feed = "main") {
    say("\"k\":\"trade\",\"s\":\"" + symbol + R"(","p":48.35,"n":100,"x":"N","i":)" + std::to_string(++last_id), later,
        feed);
  }

  [[nodiscard]] std::map<std::string, double> samples() const {
    Snapshot now;
    now.feeds = set.rows();
    std::map<std::string, double> all;
    std::istringstream lines(metrics_text(now));
    for (std::string line; std::getline(lines, line);)
      if (line.starts_with("brimwatch_feed_"))
        all[line.substr(15, line.rfind(' ') - 15)] = std::stod(line.substr(line.rfind(' ')));
    return all;
  }
  /// NaN: there is no such sample.
  [[nodiscard]] double value(const std::string& name, const std::string& feed = "main") const {
    const auto all = samples();
    const auto found = all.find(name + "{feed=\"" + feed + "\"}");
    return found == all.end() ? std::nan("") : found->second;
  }
  /// Of the kinds of faults those that were recognised at all.
  [[nodiscard]] std::map<std::string, double> faults() const {
    std::map<std::string, double> some;
    const std::string begin = "faults_total{feed=\"main\",kind=\"";
    for (const auto& [name, count] : samples())
      if (name.starts_with(begin) && count != 0)
        some[name.substr(begin.size(), name.find('"', begin.size()) - begin.size())] = count;
    return some;
  }

  Nanos at = kHour;
  Nanos clock_off = 0;
  boost::asio::io_context io;
  SymbolTable symbols;
  FeedContext context{io,
                      symbols,
                      [this] { return kMorning + at + clock_off; },
                      [this] { return at; },
                      [](LogLevel, std::string_view, const LogFields&) {},
                      [](const SecretSource&) -> Result<Secret> { return fail("there is none"); },
                      [] { return 0.0; }};
  std::map<std::string, SpokenFeed*> sources;
  FeedSet set{world(), events()};
  std::uint64_t last_id = 0;
};

TEST_F(MetricsOfFeeds, TicksAreThoseThatItBroughtAlsoWhatIsLeftOut) {
  EXPECT_EQ(value("ticks_total"), 0);
  trade();
  trade("ORRI");
  --last_id;
  trade("ORRI");
  EXPECT_EQ(value("ticks_total"), 3);
  EXPECT_THAT(faults(), ElementsAre(Pair("repeated", 1)));
}

TEST_F(MetricsOfFeeds, MalformedIsWhatCannotBeRead) {
  trade();
  sources["main"]->say("{\"k\":\"tra");
  say(R"("k":"trade","s":"KLVN","p":"much","n":1)");
  say(R"("k":"trade","s":"KLVN","n":1)");
  EXPECT_EQ(value("malformed_total"), 3);
  EXPECT_EQ(value("ticks_total"), 1);
}

TEST_F(MetricsOfFeeds, AReconnectIsAConnectionThatStandsAgain) {
  SpokenFeed& source = *sources["main"];
  EXPECT_EQ(value("reconnects_total"), 0) << "the first is none";
  for (int i = 0; i < 5; ++i) {  // nobody answers
    source.set(FeedState::down);
    source.set(FeedState::connecting);
  }
  EXPECT_EQ(value("reconnects_total"), 0);
  EXPECT_EQ(value("up"), 0);
  source.set(FeedState::up);
  source.set(FeedState::up);  // other words of the same state
  EXPECT_EQ(value("reconnects_total"), 1);
  EXPECT_EQ(value("up"), 1);
}

TEST_F(MetricsOfFeeds, OfStandbysOneCarries) {
  watch({settings("main"), settings("spare", "main")});
  for (int i = 0; i < 60; ++i) trade(), trade("KLVN", 0, "spare"), pass(kSecond);
  EXPECT_EQ(value("carrying"), 1);
  EXPECT_EQ(value("carrying", "spare"), 0);
  for (int i = 0; i < 60; ++i) trade("KLVN", 0, "spare"), pass(kSecond);
  EXPECT_EQ(value("carrying"), 0) << "connected, and silent";
  EXPECT_EQ(value("carrying", "spare"), 1);
  sources["main"]->set(FeedState::down);
  EXPECT_EQ(value("up"), 0);
  EXPECT_EQ(value("up", "spare"), 1);
  EXPECT_EQ(value("ticks_total", "spare"), 120);
}

TEST_F(MetricsOfFeeds, LagAndSilenceAreOfTheLastTick) {
  EXPECT_TRUE(std::isnan(value("lag_seconds"))) << "nothing has come";
  EXPECT_TRUE(std::isnan(value("silent_seconds")));
  trade("KLVN", -3 * kSecond);
  EXPECT_EQ(value("lag_seconds"), 3);
  EXPECT_EQ(value("silent_seconds"), 0);
  pass(7 * kSecond);
  sources["main"]->say(R"({"k":"a sign of life"})");
  EXPECT_EQ(value("silent_seconds"), 7);
  trade("KLVN", kSecond / 2);
  EXPECT_EQ(value("lag_seconds"), 0) << "its clock is ahead of ours";
}

TEST_F(MetricsOfFeeds, AReloadThatLeavesItTakesNothingBack) {
  trade();
  sources["main"]->say("{");
  watch({settings("main"), settings("spare", "main")});
  EXPECT_EQ(value("ticks_total"), 1);
  EXPECT_EQ(value("malformed_total"), 1);
}

// ---- each kind of fault, alone

TEST_F(MetricsOfFeeds, WhatIsOfNoKindOrNotAskedFor) {
  say(R"("k":"weather","s":"KLVN")");
  EXPECT_THAT(faults(), ElementsAre(Pair("unknown_kind", 1)));
  trade("QUOL");
  trade("QUOL");
  EXPECT_THAT(faults(), ElementsAre(Pair("unknown_kind", 1), Pair("unwatched", 2)));
}

TEST_F(MetricsOfFeeds, AGapInTheSourcesNumbersIsAHoleToo) {
  for (const int number : {1, 2, 5, 6})
    say(R"("k":"trade","s":"KLVN","p":48.35,"n":100,"x":"N","i":)" + std::to_string(++last_id) +
        ",\"q\":" + std::to_string(number));
  EXPECT_THAT(faults(), ElementsAre(Pair("holes", 1), Pair("number_gaps", 1)));
}

TEST_F(MetricsOfFeeds, ATickOlderThanTheLastOfItsStock) {
  trade();
  trade("KLVN", -kSecond / 2);
  EXPECT_THAT(faults(), IsEmpty()) << "less than a second";
  trade("KLVN", -5 * kSecond);
  EXPECT_THAT(faults(), ElementsAre(Pair("disordered", 1)));
}

TEST_F(MetricsOfFeeds, QuotesAndPricesThatCannotBe) {
  say(R"("k":"quote","s":"KLVN","b":48.40,"a":48.30)");
  say(R"("k":"trade","s":"KLVN","p":20000000,"n":100)");
  EXPECT_THAT(faults(), ElementsAre(Pair("absurd", 1), Pair("crossed_quotes", 1)));
}

TEST_F(MetricsOfFeeds, WhatIsOfTomorrowAndOfADayThatIsOver) {
  trade("KLVN", 2 * kMinute);
  trade("KLVN", -3 * kDayNanos);
  trade("KLVN", -2 * kDayNanos);
  EXPECT_THAT(faults(), ElementsAre(Pair("in_the_future", 1), Pair("of_past_days", 2)));
}

TEST_F(MetricsOfFeeds, ASnapshotLikeTheOneBefore) {
  for (int i = 0; i < 3; ++i) say(R"("k":"day","s":"KLVN","p":48.35,"v":120000)");
  EXPECT_THAT(faults(), ElementsAre(Pair("unchanged_snapshots", 2)));
}

TEST_F(MetricsOfFeeds, TheTakingBackOfATradeThatNeverCame) {
  trade();
  say(R"("k":"cancel","s":"KLVN","p":48.35,"n":100,"x":"N","i":1)");
  EXPECT_THAT(faults(), IsEmpty()) << "of one that came";
  say(R"("k":"cancel","s":"KLVN","p":48.35,"n":100,"x":"N","i":77)");
  EXPECT_THAT(faults(), ElementsAre(Pair("unheard_corrections", 1)));
}

TEST_F(MetricsOfFeeds, ASilenceAndTheHoleBehindIt) {
  for (int i = 0; i < 60; ++i) trade(), pass(kSecond);
  EXPECT_THAT(faults(), IsEmpty());
  pass(3 * kMinute);
  EXPECT_THAT(faults(), ElementsAre(Pair("silences", 1)));
  trade();
  EXPECT_THAT(faults(), ElementsAre(Pair("holes", 1), Pair("silences", 1)));
}

TEST_F(MetricsOfFeeds, ARunOfOldTicksIsOneLateRun) {
  for (int i = 0; i < 20; ++i) trade("KLVN", -2 * kMinute), pass(kSecond);
  EXPECT_THAT(faults(), ElementsAre(Pair("late_runs", 1)));
}

TEST_F(MetricsOfFeeds, ABreakAndTheHoleBehindIt) {
  trade();
  sources["main"]->set(FeedState::down);
  EXPECT_THAT(faults(), ElementsAre(Pair("breaks", 1)));
  sources["main"]->set(FeedState::up);
  pass(5 * kSecond);
  trade();
  EXPECT_THAT(faults(), ElementsAre(Pair("breaks", 1), Pair("holes", 1)));
}

TEST_F(MetricsOfFeeds, OurClockThatJumps) {
  pass(kSecond);
  clock_off += 5 * kSecond;
  pass(kSecond);
  clock_off -= kMinute;
  pass(kSecond);
  EXPECT_THAT(faults(), ElementsAre(Pair("clock_steps", 2)));
}

TEST_F(MetricsOfFeeds, AStockThatFallsSilentAmongOthers) {
  for (int i = 0; i < 400; ++i) trade(), trade("ORRI"), pass(kSecond / 4);
  for (int i = 0; i < 100; ++i) trade("ORRI"), pass(kSecond);
  EXPECT_THAT(faults(), ElementsAre(Pair("symbol_silences", 1)));
  trade();
  EXPECT_THAT(faults(), ElementsAre(Pair("holes", 1), Pair("symbol_silences", 1)));
}

TEST_F(MetricsOfFeeds, AStockOfWhichNothingHasCome) {
  set.expect({{symbols.find("KLVN"), "KLVN", 100}, {symbols.find("ORRI"), "ORRI", 100}}, true);
  for (int i = 0; i < 600; ++i) trade(), pass(kSecond);
  EXPECT_THAT(faults(), ElementsAre(Pair("unheard_symbols", 1)));
}

}  // namespace
}  // namespace brimwatch
