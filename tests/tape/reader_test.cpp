#include "tape/reader.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "ticks.h"

namespace brimwatch {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

constexpr const char* kHeader = "time,symbol,price,size,conditions,exchange\n";

WholeTape read(const std::string& text, const TapeOptions& options = {}) {
  WholeTape out;
  read_whole(out, opened(text), options);
  return out;
}

TEST(TapeReader, ATradeBecomesATickExactly) {
  const WholeTape got = read(std::string(kHeader) + "2026-11-25T10:42:07.123456789-05:00,KLVN,48.350001,100.5,@ FI,Q\n");
  ASSERT_EQ(got.ticks.size(), 1u) << got.error;
  const Tick& tick = got.ticks[0];
  EXPECT_EQ(tick.kind, TickKind::trade);
  EXPECT_EQ(tick.time, *parse_rfc3339("2026-11-25T15:42:07.123456789Z"));
  EXPECT_EQ(got.symbols.name(tick.symbol), "KLVN");
  EXPECT_EQ(tick.price.micros, 48'350'001);
  EXPECT_EQ(tick.size.micros, 100'500'000);
  EXPECT_EQ(tick.conditions.view(), "@FI");
  EXPECT_EQ(tick.exchange, 'Q');
  EXPECT_FALSE(tick.received.is_set());
}

TEST(TapeReader, ColumnsAreFoundByNameAndUnknownOnesNamedOnce) {
  const WholeTape got = read(
      "note,size,price,symbol,conditions,time,id,kind\n"
      "x,100,48.35,KLVN,,2026-11-25T15:42:07Z,77,\n"
      "y,100,48.36,KLVN,,2026-11-25T15:42:08Z,77,cancel\n");
  ASSERT_EQ(got.ticks.size(), 2u) << got.error;
  EXPECT_EQ(got.ticks[0].id, 77u);
  EXPECT_EQ(got.ticks[1].kind, TickKind::cancel);
  EXPECT_THAT(got.stats.ignored_columns, ElementsAre("note"));
}

TEST(TapeReader, EveryKindOfTick) {
  const WholeTape got = read(
      "time,symbol,price,size,conditions,kind,exchange,id,day_volume,bid,ask,bid_size,ask_size,status,received\n"
      "2026-11-25T15:42:07Z,KLVN,,,,quote,Q,,,48.35,48.36,200,300,,2026-11-25T15:42:07.5Z\n"
      "2026-11-25T15:42:07Z,KLVN,48.34,50,@,correct,Q,a-1,,48.33,,60,,,\n"
      "2026-11-25T15:42:07Z,KLVN,,,,status,,,,,,,,halted,\n"
      "2026-11-25T15:43:00Z,KLVN,48.36,12000,,bar,,,,48.30,48.40,,,,\n"
      "2026-11-25T15:43:00Z,KLVN,48.36,,,day,,,1200000,,,,,,\n"
      "2026-11-25T15:43:00Z,,,,,hole,,,,,,,,,2026-11-25T15:44:00Z\n");
  ASSERT_EQ(got.ticks.size(), 6u) << got.error << (got.stats.told.empty() ? "" : got.stats.told[0]);
  EXPECT_EQ(got.ticks[0].ask_size, Shares::whole(300));
  EXPECT_EQ(got.ticks[0].received - got.ticks[0].time, kSecond / 2);
  EXPECT_EQ(got.ticks[1].bid.micros, 48'330'000);
  EXPECT_EQ(got.ticks[1].id, trade_id_of("a-1"));
  EXPECT_EQ(got.ticks[2].status, TradingStatus::halted);
  EXPECT_EQ(got.ticks[3].ask.micros, 48'400'000);
  EXPECT_EQ(got.ticks[4].day_volume, Shares::whole(1'200'000));
  EXPECT_EQ(got.ticks[5].symbol, kNoSymbol);
  EXPECT_EQ(got.ticks[5].received - got.ticks[5].time, kMinute);
}

TEST(TapeReader, ABadRowIsToldWithItsPlaceAndSkipped) {
  std::string text = kHeader;
  text += "2026-11-25T10:42:07-05:00,KLVN,48.35,100,,Q\n";
  text += "2026-11-25T10:42:08-05:00,KLVN,48;36,100,,Q\r\n";
  text += "2026-11-25T10:42:09-05:00,KLVN,48.37,100,,Q\n";
  for (int i = 0; i < 100; ++i) text += "2026-11-25T10:42:10-05:00,KLVN,48.37,100,,Q\n";
  const WholeTape got = read(text);
  EXPECT_THAT(got.error, IsEmpty());
  EXPECT_EQ(got.ticks.size(), 102u);
  EXPECT_EQ(got.stats.malformed, 1u);
  EXPECT_THAT(
      got.stats.told,
      ElementsAre("t.csv:3:32: price: found \"48;36\", expected a number above zero such as 48.35; the row was skipped"));
}

TEST(TapeReader, EachWayOfBeingWrongIsRefused) {
  const char* rows[] = {
      "2026-11-25T10:42:07,KLVN,48.35,100,,Q",
      "2026-02-30T10:42:07Z,KLVN,48.35,100,,Q",
      "2026-11-25T10:42:07Z,,48.35,100,,Q",
      "2026-11-25T10:42:07Z, KLVN,48.35,100,,Q",
      "2026-11-25T10:42:07Z,KLVN,0,100,,Q",
      "2026-11-25T10:42:07Z,KLVN,-48.35,100,,Q",
      "2026-11-25T10:42:07Z,KLVN,4e1,100,,Q",
      "2026-11-25T10:42:07Z,KLVN,nan,100,,Q",
      "2026-11-25T10:42:07Z,KLVN,48.35,-1,,Q",
      "2026-11-25T10:42:07Z,KLVN,48.35,,,Q",
      "2026-11-25T10:42:07Z,KLVN,48.35,100,\x01,Q",
      "2026-11-25T10:42:07Z,KLVN,48.35,100,,QQ",
      "2026-11-25T10:42:07Z,KLVN,48.35,100,",
      "2026-11-25T10:42:07Z,KLVN,48.35,100,,Q,",
      "2026-11-25T10:42:07Z,KL\"VN,48.35,100,,Q",
      "2026-11-25T10:42:07Z,\"KLVN\"x,48.35,100,,Q",
      "2026-11-25T10:42:07Z,KLVN,99999999999999999999,100,,Q",
  };
  for (const char* row : rows) {
    const std::string good = "2026-11-25T10:42:09Z,ORRI,48.37,100,,Q\n";
    const WholeTape got = read(std::string(kHeader) + good + row + "\n" + good);
    EXPECT_EQ(got.ticks.size(), 2u) << row;
    EXPECT_EQ(got.stats.malformed, 1u) << row;
    EXPECT_THAT(got.error, IsEmpty()) << row;
  }
}

TEST(TapeReader, TooManyBadRowsAreAnError) {
  const std::string good = "2026-11-25T10:42:09Z,ORRI,48.37,100,,Q\n";
  EXPECT_THAT(read(std::string(kHeader) + good + "x\nx\n" + good).error,
              HasSubstr("found 2 bad rows among 4, expected at most 1 %; reading stopped; the first: t.csv:3:1"));
  EXPECT_THAT(read(std::string(kHeader) + "x\n").error, HasSubstr("found 1 bad rows among 1"));
  std::string text = kHeader;
  for (int i = 0; i < 100'000; ++i) text += i % 50 == 0 ? "x\n" : good;
  const WholeTape got = read(text);
  EXPECT_THAT(got.error, HasSubstr("bad rows"));
  EXPECT_LT(got.stats.rows, 2'000u);  // it does not read on for ever
  TapeOptions lenient;
  lenient.most_bad_share = 0.05;
  EXPECT_EQ(read(text, lenient).ticks.size(), 98'000u);
}

TEST(TapeReader, AHeaderWithoutARequiredColumnSaysWhich) {
  EXPECT_EQ(read("time,symbol,price,conditions\n").error,
            "t.csv:1:1: no column \"size\": found the header \"time,symbol,price,conditions\", expected "
            "time,symbol,price,size,conditions in any order; the tape was not read");
  EXPECT_THAT(read("time,symbol,price,size,conditions,price\n").error, HasSubstr("\"price\" appears twice"));
  EXPECT_THAT(read("").error, HasSubstr("an empty file"));
}

TEST(TapeReader, SpreadsheetsTapesAreRead) {
  const WholeTape got = read(
      "\xEF\xBB\xBFtime,symbol,price,size,conditions\r\n\"2026-11-25T10:42:07Z\",\"KLVN\",\"48.35\",\"100\","
      "\"\"\r\n\r\n");
  EXPECT_EQ(got.ticks.size(), 1u) << got.error;
  EXPECT_EQ(got.stats.blank_lines, 1u);
}

TEST(TapeReader, TheLastRowNeedsNoLineEndButHalfARowIsLeftOut) {
  const std::string start =
      std::string(kHeader) + "2026-11-25T10:42:07Z,KLVN,48.35,100,,Q\n2026-11-25T10:42:08Z,KLVN,48.36,";
  const WholeTape whole = read(start + "100,,Q");
  EXPECT_EQ(whole.ticks.size(), 2u);
  EXPECT_FALSE(whole.stats.torn);
  const WholeTape half = read(start + "10");
  EXPECT_EQ(half.ticks.size(), 1u);
  EXPECT_TRUE(half.stats.torn);
  EXPECT_EQ(half.stats.malformed, 0u);
}

TEST(TapeReader, OnlyTheTimesAskedFor) {
  TapeOptions options;
  options.from = parse_rfc3339("2026-11-25T10:42:08Z");
  options.to = parse_rfc3339("2026-11-25T10:42:09Z");
  const WholeTape got = read(std::string(kHeader) +
                                 "2026-11-25T10:42:07.999Z,KLVN,48.35,100,,Q\n2026-11-25T10:42:08Z,KLVN,48.36,100,,Q\n"
                                 "2026-11-25T10:42:09Z,KLVN,48.37,100,,Q\n2026-11-25T10:42:08.5Z,KLVN,48.38,100,,Q\n",
                             options);
  ASSERT_EQ(got.ticks.size(), 2u);
  EXPECT_EQ(got.ticks[1].price.micros, 48'380'000);  // a late row behind the end still counts
  EXPECT_EQ(got.stats.outside, 2u);
}

TEST(TapeReader, MoreThanEightConditionsKeepTheFirstEightAndAreCounted) {
  const WholeTape got = read(std::string(kHeader) + "2026-11-25T10:42:07Z,KLVN,48.35,100,ABCDEFGHI,Q\n");
  ASSERT_EQ(got.ticks.size(), 1u);
  EXPECT_EQ(got.ticks[0].conditions.view(), "ABCDEFGH");
  EXPECT_EQ(got.stats.cut_conditions, 1u);
}

TEST(TapeReader, RowsAcrossBlocksAndOverlongRows) {
  std::string text = kHeader;
  for (int i = 0; i < 20'000; ++i) {
    text += "2026-11-25T10:42:07Z,S" + std::to_string(i % 977) + ",48.35," + std::to_string(i) + ",,Q\n";
    if (i == 9'000) text += std::string(300'000, 'x') + "\n";
    if (i == 12'000) text += "2026-11-25T10:42:07Z,KLVN,48.35,100,\"" + std::string(200, 'x') + ",Q\n";
  }
  const WholeTape got = read(text);
  EXPECT_THAT(got.error, IsEmpty());
  ASSERT_EQ(got.ticks.size(), 20'000u);
  for (int i = 0; i < 20'000; ++i) ASSERT_EQ(got.ticks[static_cast<std::size_t>(i)].size, Shares::whole(i));
  EXPECT_EQ(got.stats.malformed, 2u);
  EXPECT_EQ(got.stats.rows, 20'002u);
  EXPECT_THAT(got.stats.told[0], HasSubstr("t.csv:9003:1: found a row of more than 65536 bytes"));
  EXPECT_THAT(got.stats.told[1], HasSubstr("t.csv:12004:37: found a quote that is never closed"));
}

}  // namespace
}  // namespace brimwatch
