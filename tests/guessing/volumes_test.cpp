// Volume that a source tells twice is counted once, and where the sums do not agree it is asked which, with both figures.
#include <gmock/gmock.h>

#include "adapters/guessing/proposal.h"

namespace brimwatch {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::StartsWith;

constexpr long long kTen = 1791986400000;  // a full minute, in milliseconds

std::string trade_at(int second, int cents, int shares) {
  return R"({"type":"trade","s":"KLVN","p":48.)" + std::to_string(cents) + R"(,"q":)" + std::to_string(shares) +
         R"(,"t":)" + std::to_string(kTen + second * 1000LL) + "}\n";
}

std::string bar_ending(int second, int shares, const std::string& more = "") {
  return R"({"type":"bar","s":"KLVN","open":48.12,"high":48.49,"low":48.10,"close":48.20,"volume":)" +
         std::to_string(shares) + R"(,"t":)" + std::to_string(kTen + second * 1000LL) + more + "}\n";
}

/// Six minutes of trades of 100 and 300 shares, each minute with a bar behind it that has `hundreds` for each minute.
std::string minutes_with_bars(int hundreds) {
  std::string out;
  for (int minute = 0; minute < 6; ++minute) {
    if (minute > 0) out += bar_ending(60 * minute, 100 * hundreds);
    out += trade_at(60 * minute + 4, 20 + minute, 100) + trade_at(60 * minute + 31, 35 - 2 * minute, 300);
  }
  return out + bar_ending(360, 100 * hundreds) + trade_at(361, 30, 100);
}

const SortGuess* sort_with(const Proposal& proposal, const std::string& word, MessageKind is) {
  for (const SortGuess& sort : proposal.sorts) {
    if (sort.sort.word == word && sort.is == is) return &sort;
  }
  return nullptr;
}

TEST(Volumes, BarsOfTheSameSharesAsTheTradesArePassedOverWithoutAQuestion) {
  const auto proposal = propose(cut_sample(minutes_with_bars(4)));
  ASSERT_TRUE(proposal);
  EXPECT_EQ(proposal->settings.kind_words.at("bar"), "ignore");
  EXPECT_THAT(proposal->asked, Not(Contains(StartsWith("kind_words"))));
  EXPECT_EQ(sort_with(*proposal, "bar", MessageKind::bar)->sure, Sure::sure);
}

TEST(Volumes, BarsOfOtherSharesAreAskedForWithBothFigures) {
  const auto proposal = propose(cut_sample(minutes_with_bars(9)));
  ASSERT_TRUE(proposal);
  EXPECT_THAT(proposal->asked,
              Contains(AllOf(StartsWith("kind_words.bar: "), HasSubstr("4500 shares"), HasSubstr("2000"))));
  EXPECT_EQ(sort_with(*proposal, "bar", MessageKind::bar)->sure, Sure::likely);
  EXPECT_EQ(sort_with(*proposal, "trade", MessageKind::trade)->sure, Sure::likely);
}

TEST(Volumes, BarsWithoutACommonIntervalAreAskedForToo) {
  std::string text = bar_ending(-60, 5'000) + bar_ending(-120, 4'000);
  for (int i = 0; i < 8; ++i) text += trade_at(5 * i, 20 + i % 3, 100 + 100 * (i % 2));
  const auto proposal = propose(cut_sample(text));
  ASSERT_TRUE(proposal);
  EXPECT_THAT(proposal->asked, Contains(StartsWith("kind_words.bar: ")));
}

TEST(Volumes, BarsThatGrowCountOnlyWhenTheyAreClosed) {
  std::string text;
  for (int minute = 1; minute <= 6; ++minute) {
    for (int step = 1; step <= 3; ++step) {
      text += bar_ending(60 * minute, 1'000 * step + 100 * minute, step < 3 ? R"(,"closed":false)" : R"(,"closed":true)");
    }
  }
  const auto proposal = propose(cut_sample(text));
  ASSERT_TRUE(proposal);
  EXPECT_EQ(proposal->settings.rules, (std::vector<MessageRule>{{"/closed", "false", "ignore"}}));
  EXPECT_EQ(proposal->trial.ticks, 6U);
}

TEST(Volumes, ListsOfWhichOnlyTheFirstEntryWouldBeReadAreAskedFor) {
  std::string text;
  for (int i = 0; i < 10; ++i) {
    const std::string price = "48." + std::to_string(20 + i % 4), time = std::to_string(kTen + 1000 * i);
    const std::string one =
        R"({"p":)" + price + R"(,"q":)" + std::to_string(100 + 50 * (i % 3)) + R"(,"t":)" + time + "}";
    text += R"({"KLVN":{"name":"Klevin","trades":[)" + one + (i % 2 == 0 ? "," + one : "") +
            R"(]},"NIVO":{"name":"Nivo","trades":[)" + one + "]}}\n";
  }
  const auto proposal = propose(cut_sample(text));
  ASSERT_TRUE(proposal);
  EXPECT_THAT(proposal->asked, Contains(StartsWith("messages: ")));
}

}  // namespace
}  // namespace brimwatch
