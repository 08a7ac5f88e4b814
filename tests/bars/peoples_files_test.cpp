// Daily files as people have them: other names, other order, other separators, several symbols. The headers are shapes
// that general market-data downloads and spreadsheets have, without any one's name (from memory).
#include <gmock/gmock.h>

#include "bars/daily_text.h"

namespace brimwatch {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

DailySeries read(std::string_view text, DailyRows rows = DailyRows::every) {
  auto series = parse_daily(text, "KLVN", "KLVN.csv", rows);
  EXPECT_TRUE(series) << series.error().text;
  return series ? *series : DailySeries{};
}

const DailyBar kFirst{Date::of(2026, 11, 24), Price{48'350'000}, Price{49'500'000},
                      Price{48'100'000},      Price{49'250'000}, 1'234'567};
const DailyBar kSecond{Date::of(2026, 11, 25), Price{49'300'000}, Price{50'000'000},
                       Price{49'000'000},      Price{49'900'000}, 950'000};

void holds_both(std::string_view text) { EXPECT_THAT(read(text).bars, ElementsAre(kFirst, kSecond)) << text; }

TEST(PeoplesFiles, OtherNamesOfTheColumns) {
  holds_both(
      "timestamp,open,high,low,close,adjusted_close,volume,dividend_amount,split_coefficient\n"
      "2026-11-25,49.30,50.00,49.00,49.90,24.95,950000,0.0000,1.0\n"
      "2026-11-24,48.35,49.50,48.10,49.25,24.60,1234567,0.0000,1.0\n");
  holds_both(
      "Date,Open,High,Low,Close,Adj Close,Volume\n"
      "2026-11-24,48.349998,49.500000,48.099998,49.250000,49.1,1234567\n"
      "2026-11-25,49.299999,50.000000,49.000000,49.900002,49.7,950000\n");
  holds_both(
      "Date,Close/Last,Volume,Open,High,Low\n"
      "11/25/2026,$49.90,950000,$49.30,$50.00,$49.00\n"
      "11/24/2026,$49.25,1234567,$48.35,$49.50,$48.10\n");
  holds_both(
      "<TICKER>,<PER>,<DATE>,<TIME>,<OPEN>,<HIGH>,<LOW>,<CLOSE>,<VOL>\n"
      "KLVN.US,D,20261124,000000,48.35,49.5,48.1,49.25,1234567\n"
      "KLVN.US,D,20261125,000000,49.3,50,49,49.9,950000\n");
  holds_both("t,o,h,l,c,v\n1795478400,48.35,49.5,48.1,49.25,1234567\n1795564800000,49.3,50,49,49.9,950000\n");
  holds_both(
      "1. open,2. high,3. low,4. close,5. volume,date\n48.35,49.5,48.1,49.25,1234567,2026-11-24T00:00:00Z\n"
      "49.3,50,49,49.9,950000,2026-11-25 00:00:00-05:00\n");
}

TEST(PeoplesFiles, SemicolonsTabsAndDecimalCommas) {
  holds_both(
      "Date;Open;High;Low;Close;Volume\r\n24.11.2026;48,35;49,50;48,10;49,25;1.234.567\r\n"
      "25.11.2026;49,30;50,00;49,00;49,90;950.000\r\n");
  holds_both(
      "date\tvolume\topen\thigh\tlow\tclose\n2026-11-24\t1234567\t48.35\t49.5\t48.1\t49.25\n"
      "2026-11-25\t950000\t49.3\t50\t49\t49.9\n");
  EXPECT_THAT(read("Date;Volume\n2026-11-24;100\n").choices, ElementsAre("semicolons part the columns"));
}

TEST(PeoplesFiles, MonthsInWordsAndEitherOrderOfDayAndMonth) {
  holds_both(
      "date,open,high,low,close,volume\n24-Nov-2026,48.35,49.5,48.1,49.25,1234567\n"
      "\"Nov 25, 2026\",49.3,50,49,49.9,950000\n");
  EXPECT_THAT(read("date,volume\n13/03/2026,1\n").choices, ElementsAre("dates have the day first"));
  EXPECT_THAT(read("date,volume\n3/13/2026,1\n").choices, ElementsAre("dates have the month first"));
}

TEST(PeoplesFiles, ADayThatNobodyCanTellFromItsMonthIsRefused) {
  const auto refused = parse_daily("date,volume\n03/04/2026,1\n05/06/2026,1\n", "KLVN", "KLVN.csv");
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().text,
              HasSubstr("KLVN.csv:2:1: date: found \"03/04/2026\", in which nothing tells the month"));
}

TEST(PeoplesFiles, EachChoiceIsSaidOnce) {
  EXPECT_THAT(
      read("Trade Date,Opening Price,High,Low,Last,Adj_Close,Vol\n2026-11-24,48.35,49.5,48.1,49.25,9,100\n").choices,
      ElementsAre("\"Trade Date\" is date", "\"Opening Price\" is open", "\"Last\" is close", "\"Vol\" is volume",
                  "\"Adj_Close\" is passed over: a pivot is a price that trades"));
  EXPECT_THAT(read("Date,Open,High,Low,Close,Volume\n2026-11-24,48.35,49.5,48.1,49.25,100\n").choices, IsEmpty());
}

TEST(PeoplesFiles, SplitsOfAColumn) {
  for (const char* split : {"2", "2.0", "2:1", "2/1", "2 for 1"}) {
    const DailySeries series =
        read(std::string("date,volume,Stock Splits\n2026-11-24,1,0\n2026-11-25,1,") + split + "\n");
    ASSERT_EQ(series.splits.size(), 1U) << split;
    EXPECT_EQ(series.splits[0].day, kSecond.day);
    EXPECT_DOUBLE_EQ(series.splits[0].ratio, 2) << split;
  }
  EXPECT_DOUBLE_EQ(read("date,volume,split\n2026-11-24,1,1:10\n").splits.at(0).ratio, 0.1);
}

constexpr const char* kTwo =
    "ticker,date,open,high,low,close,volume\nKLVN,2026-11-24,48.35,49.5,48.1,49.25,1234567\nNIVO,2026-11-24,7,7,7,7,100\n"
    "NIVO,2026-11-25,7,x,7,7,100\nKLVN,2026-11-25,49.3,50,49,49.9,950000\n";

TEST(PeoplesFiles, OneFileForAllSymbols) {
  const auto all = parse_all_daily(kTwo, "all", "all.csv");
  ASSERT_TRUE(all);
  ASSERT_EQ(all->size(), 2U);
  EXPECT_EQ((*all)[0].symbol, "KLVN");
  EXPECT_THAT((*all)[0].bars, ElementsAre(kFirst, kSecond));
  EXPECT_EQ((*all)[1].bars.size(), 1U);
  holds_both(kTwo);  // another's bad row costs nothing
  const auto bad = parse_daily(kTwo, "NIVO", "all.csv", DailyRows::every);
  ASSERT_FALSE(bad);
  EXPECT_THAT(bad.error().text, HasSubstr("all.csv:4:19: high: found \"x\""));
  EXPECT_THAT(bad.error().text, HasSubstr("the rows of NIVO were not used"));
  EXPECT_FALSE(parse_daily(kTwo, "ORRJ", "all.csv"));
}

TEST(PeoplesFiles, RowsOfAnotherSymbolAreTold) {
  const DailySeries series = read("symbol,date,volume\nNIVO,2026-11-24,1\n");
  EXPECT_EQ(series.told_symbol, "NIVO");
  EXPECT_EQ(series.symbol, "KLVN");
  EXPECT_TRUE(read("symbol,date,volume\nXNYS:KLVN,2026-11-24,1\n").told_symbol.empty());
}

TEST(PeoplesFiles, WhatWeWriteWeRead) {
  DailySeries series;
  series.symbol = "KLVN";
  series.bars = {kFirst, kSecond};
  series.splits = {{kSecond.day, 1.5}};
  series.own = {kSecond.day};
  const DailySeries again = read(daily_text(series));
  EXPECT_EQ(again.bars, series.bars);
  EXPECT_EQ(again.own, series.own);
  ASSERT_EQ(again.splits.size(), 1U);
  EXPECT_DOUBLE_EQ(again.splits[0].ratio, 1.5);
  EXPECT_THAT(again.choices, IsEmpty());
}

}  // namespace
}  // namespace brimwatch
