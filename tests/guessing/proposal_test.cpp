// Whatever a source sends: a proposal comes out or an error, the mapping of a proposal compiles, and it is said what the
// decoder made of the sample.
#include "adapters/guessing/proposal.h"

#include <gmock/gmock.h>

#include <random>

#include "adapters/guessing/names.h"
#include "adapters/guessing/written.h"
#include "core/text/json.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

/// A message made by chance from a few names and values that look like what a source sends.
OrderedJson random_message(std::mt19937& random, int depth) {
  static const char* const kNames[] = {"p", "s", "t", "price", "data", "KLVN", "type", "bid", "", "a/b", "~", "0"};
  static const OrderedJson kValues[] = {48.35,   100,  1791986461091, "KLVN", "trade", "2026-10-14T14:00:00Z",
                                        nullptr, true, "1e400",       "NaN",  -5,      "@ I"};
  const auto kind = random() % (depth > 3 ? 6 : 9);
  if (kind < 6) return kValues[random() % std::size(kValues)];
  OrderedJson out = kind == 6 ? OrderedJson::array() : OrderedJson::object();
  for (auto n = random() % 6; n > 0; --n) {
    OrderedJson value = random_message(random, depth + 1);
    if (kind == 6) out.push_back(std::move(value));
    else out[kNames[random() % std::size(kNames)]] = std::move(value);
  }
  return out;
}

TEST(Proposal, OfAnythingCompilesAndCountsEachMessage) {
  std::mt19937 random(5);
  std::size_t usable = 0;
  for (int i = 0; i < 150; ++i) {
    std::string text;
    for (int n = 0; n < 4 && i % 3 == 0; ++n) {
      text += R"({"s":"KLVN","p":48.3)" + std::to_string(n) + R"(,"q":)" + std::to_string(100 + n) +
              R"(,"t":179198646109)" + std::to_string(n) + "}\n";
    }
    const OrderedJson pattern = random_message(random, 0);
    for (auto n = random() % 12; n > 0; --n)
      text += (random() % 2 == 0 ? pattern : random_message(random, 0)).dump() + "\n";
    const auto proposal = propose(cut_sample(text));
    if (!proposal || !proposal->usable) continue;
    ++usable;
    EXPECT_THAT(mapping_problems(proposal->settings), IsEmpty()) << text;
    const Trial& trial = proposal->trial;
    EXPECT_EQ(trial.messages, trial.ticks + trial.ignored + trial.unknown + trial.malformed) << text;
    EXPECT_THAT(feed_as_toml(*proposal), HasSubstr("[feed.fields]"));
    EXPECT_TRUE(OrderedJson::accept(proposal_as_json(*proposal))) << text;
  }
  EXPECT_GT(usable, 15U);
}

TEST(Proposal, SaysWhatItCouldNotReadWhereNothingCanBeMapped) {
  Sample sample;
  sample.frames = {R"({"op":"d"})", "not a message at all"};
  const auto proposal = propose(sample);
  ASSERT_TRUE(proposal);
  ASSERT_FALSE(proposal->usable);
  EXPECT_THAT(proposal_as_text(*proposal), HasSubstr("1 of the sample could not be read, the first: "));
}

TEST(Proposal, OfBytesByChanceNeverFalls) {
  std::mt19937 random(6);
  for (int i = 0; i < 200; ++i) {
    std::string bytes;
    for (auto n = random() % 80; n > 0; --n)
      bytes += static_cast<char>(random() % 3 == 0 ? random() : "{}[]\":,1a\n"[random() % 10]);
    (void)propose(cut_sample(bytes));
  }
  (void)propose(cut_sample(std::string(200'000, '[')));
  EXPECT_FALSE(propose(cut_sample("")));
}

TEST(Names, SpeakForWhatTheTradeCallsSo) {
  EXPECT_GE(name_speaks_for(Field::price, "/lastTradePrice"), 0.9);
  EXPECT_GE(name_speaks_for(Field::bid, "/bid/price"), 0.9);
  EXPECT_LT(name_speaks_for(Field::price, "/bid/price"), 0);
  EXPECT_LT(name_speaks_for(Field::price, "/vwap"), 0);
  EXPECT_EQ(kind_of_word("trade_cancel"), MessageKind::cancel);
  EXPECT_EQ(kind_of_word("weather of mars"), MessageKind::ignore);
  EXPECT_EQ(status_of_word("resumed", "/state"), "trading");
}

TEST(Names, AUnitOfTimeSaysThatItIsOne) {
  EXPECT_GE(name_speaks_for(Field::time, "/after/exec_us"), 0.8);
  EXPECT_GE(name_speaks_for(Field::time, "/dealtNanos"), 0.8);
  EXPECT_EQ(name_speaks_for(Field::time, "/price_micros"), 0);
  EXPECT_GE(name_speaks_for(Field::price, "/price_micros"), 0.9);
  EXPECT_EQ(name_speaks_for(Field::time, "/us"), 0);
}

}  // namespace
}  // namespace brimwatch
