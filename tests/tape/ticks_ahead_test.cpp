// What is read ahead is what the reader reads: the same ticks, names, counts and errors, whoever else names symbols
// meanwhile.
#include "tape/ticks_ahead.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "ticks.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

/// Rows of which every hundredth names a symbol for the first time; `bad` of them, at the end, cannot be read.
std::string tape(std::size_t rows, std::size_t bad = 0) {
  std::string text = "time,symbol,price,size,conditions\n";
  for (std::size_t i = 0; i < rows; ++i) {
    const std::size_t second = i / 100 % 3600;
    text += "2026-11-25T10:" + std::to_string(100 + second / 60).substr(1) + ":" +
            std::to_string(100 + second % 60).substr(1) + "Z,S" + std::to_string(i % 7 == 0 ? i / 100 : i % 50) + "," +
            std::to_string(20 + i % 9) + ".25,100,\n";
  }
  for (std::size_t i = 0; i < bad; ++i) text += "x,S1,1,1,\n";
  return text;
}

class Ahead : public testing::Test {
 protected:
  /// Takes all; each batch's ticks with the names that the caller's table gives their symbols.
  void take(const std::string& text, bool name_others = false) {
    auto ahead = TicksAhead::open(opened(text), symbols_);
    ASSERT_TRUE(ahead) << ahead.error().text;
    for (int n = 0;; ++n) {
      const auto batch = (*ahead)->next();
      if (!batch) {
        error_ = batch.error().text;
        EXPECT_EQ((*ahead)->next().error().text, error_) << "after an error it stays at the error";
        return;
      }
      if (batch->empty()) break;
      for (const Tick& tick : *batch) ticks_.emplace_back(tick, symbols_.name(tick.symbol));
      if (name_others) symbols_.intern("OTHER" + std::to_string(n));
    }
    EXPECT_TRUE((*ahead)->next()->empty());
    stats_ = (*ahead)->stats();
  }

  void expect_the_readers(const std::string& text) {
    WholeTape whole;
    read_whole(whole, opened(text));
    ASSERT_EQ(ticks_.size(), whole.ticks.size());
    for (std::size_t i = 0; i < ticks_.size(); ++i) {
      Tick tick = ticks_[i].first;
      ASSERT_EQ(ticks_[i].second, whole.symbols.name(whole.ticks[i].symbol)) << i;
      tick.symbol = whole.ticks[i].symbol;
      ASSERT_TRUE(same(tick, whole.ticks[i])) << i << "\n" << shown(tick) << "\n" << shown(whole.ticks[i]);
    }
    EXPECT_EQ(error_, whole.error);
    if (!whole.error.empty()) return;
    EXPECT_EQ(stats_.rows, whole.stats.rows);
    EXPECT_EQ(stats_.malformed, whole.stats.malformed);
    EXPECT_EQ(stats_.told, whole.stats.told);
  }

  SymbolTable symbols_;
  std::vector<std::pair<Tick, std::string>> ticks_;
  TapeStats stats_;
  std::string error_;
};

TEST_F(Ahead, GivesWhatTheReaderGives) {
  const std::string text = tape(20'000, 3);
  take(text);
  expect_the_readers(text);
}

TEST_F(Ahead, FindsTheCallersNamesAndKeepsTheirNumbers) {
  symbols_.intern("S9");
  symbols_.intern("KLVN");
  const std::string text = tape(3000);
  take(text);
  expect_the_readers(text);
  EXPECT_EQ(symbols_.find("S9"), 0u);
  EXPECT_EQ(symbols_.find("KLVN"), 1u);
}

TEST_F(Ahead, SymbolsKeepTheirNamesWhenOthersAreNamedMeanwhile) {
  const std::string text = tape(20'000);
  take(text, true);
  expect_the_readers(text);
}

TEST_F(Ahead, HandsOutWhatCameBeforeAnError) {
  const std::string text = tape(5000, 400);
  take(text);
  EXPECT_THAT(error_, HasSubstr("bad rows among"));
  EXPECT_GT(ticks_.size(), 4000u);
  expect_the_readers(text);
}

TEST_F(Ahead, OfAnEmptyTapeIsEmpty) {
  take("time,symbol,price,size,conditions\n");
  EXPECT_TRUE(ticks_.empty());
  EXPECT_EQ(stats_.rows, 0u);
}

TEST_F(Ahead, RefusesABadHeaderAtOnce) {
  const auto ahead = TicksAhead::open(opened("time,price\n"), symbols_);
  ASSERT_FALSE(ahead);
  EXPECT_THAT(ahead.error().text, HasSubstr("symbol"));
}

TEST_F(Ahead, CanBeLeftInTheMiddle) {
  auto ahead = TicksAhead::open(opened(tape(50'000)), symbols_);
  ASSERT_TRUE(ahead);
  EXPECT_FALSE((*ahead)->next()->empty());
}

}  // namespace
}  // namespace brimwatch
