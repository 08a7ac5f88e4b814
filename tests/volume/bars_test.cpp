#include "volume/bars.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "volume/bar_decoder.h"
#include "volume/bar_time.h"
#include "volume/walk.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

const Calendar& new_york() {
  static const auto calendar = Calendar::load("XNYS", {});
  return **calendar;
}

BarSeries series_of(const std::string& text, BarFileOptions options = {}, BarReading reading = {}) {
  BarDecoder decoder("test.csv", "KLVN", options, new_york());
  for (std::size_t at = 0; at < text.size(); at += 7)
    EXPECT_TRUE(decoder.feed(std::string_view(text).substr(at, 7)));  // in pieces
  EXPECT_TRUE(decoder.finish());
  EXPECT_EQ(decoder.malformed(), 0u);
  return decoder.symbols().empty() ? BarSeries()
                                   : assemble_bars("KLVN", std::move(decoder.symbols()[0].rows), reading, new_york());
}

std::string quarter_hours(const std::string& day, int bins, int volume) {
  std::string text;
  for (int i = 0; i < bins; ++i) {
    char line[64];
    std::snprintf(line, sizeof line, "%s,%02d:%02d,%d\n", day.c_str(), (570 + 15 * i) / 60, (570 + 15 * i) % 60, volume);
    text += line;
  }
  return text;
}

TEST(BarTime, ManySpellings) {
  EXPECT_EQ(*parse_clock("9:30"), 570);
  EXPECT_EQ(*parse_clock("093000"), 570);
  EXPECT_EQ(*parse_clock("09:30:00.000"), 570);
  EXPECT_FALSE(parse_clock("24:00"));
  EXPECT_EQ(to_string(*parse_any_date("20261125")), "2026-11-25");
  EXPECT_EQ(to_string(*parse_any_date("11/25/2026")), "2026-11-25");
  EXPECT_FALSE(parse_any_date("2026-02-30"));
  for (const char* same :
       {"2026-11-25T14:30:00Z", "2026-11-25 09:30:00-05:00", "1795617000", "1795617000000", "1795617000000000000"}) {
    const auto stamp = parse_stamp(same);
    ASSERT_TRUE(stamp) << same;
    EXPECT_TRUE(stamp->absolute) << same;
    EXPECT_EQ(to_string(stamp->day), "2026-11-25") << same;
    EXPECT_EQ(stamp->minute, 14 * 60 + 30) << same;
  }
  EXPECT_EQ(parse_stamp("20110103 090100")->minute, 541);
  EXPECT_FALSE(parse_stamp("2026-11-25"));
}

TEST(Bars, ShortRowsOfAHalfDayAndItsStrayRowsAreKnown) {
  const std::string text = "date,bin_start,volume\n" + quarter_hours("2019-11-27", 26, 100) +
                           quarter_hours("2019-11-29", 14, 100) +
                           "2019-11-29,13:00,5000\n2019-11-29,13:15,\n2019-11-29,15:30,0\n";
  const BarSeries series = series_of(text);
  EXPECT_EQ(series.bar_minutes, 15);
  ASSERT_EQ(series.days.size(), 2u);
  EXPECT_FALSE(series.days[0].half_day);
  EXPECT_EQ(series.days[0].total, 2600);
  EXPECT_TRUE(series.days[1].half_day);
  EXPECT_EQ(series.days[1].total, 1400);
  EXPECT_EQ(series.counts.outside_session, 3u);
  EXPECT_TRUE(is_whole(series.days[0]));
  EXPECT_FALSE(is_whole(series.days[1]));
}

TEST(Bars, DaysMayBeLabelsAndBarsMayBeMissing) {
  const BarSeries series =
      series_of("date,bin_start,volume\n" + quarter_hours("V1", 26, 10) + quarter_hours("V2", 26, 10) +
                quarter_hours("V3", 22, 10) + quarter_hours("V4", 26, 10));
  ASSERT_EQ(series.days.size(), 4u);
  EXPECT_FALSE(series.days[0].dated());
  EXPECT_TRUE(is_whole(series.days[1]));
  EXPECT_FALSE(is_whole(series.days[2]));  // its last hour is not there
  EXPECT_EQ(series.counts.short_days, 1u);
}

TEST(Bars, TheFirstHourBarHoldsHalfAnHour) {
  const BarSeries series = series_of(
      "datetime,open,high,low,close,volume\n2019-11-26 09:00,1,2,1,1.5,300\n2019-11-26 10:00,1,2,1,1.6,100\n2019-11-26 "
      "11:00,1,2,1,2,100\n"
      "2019-11-26 12:00,1,2,1,2,100\n2019-11-26 13:00,1,2,1,2,100\n2019-11-26 14:00,1,2,1,2,100\n2019-11-26 "
      "15:00,1,2,1,2.5,200\n");
  EXPECT_EQ(series.bar_minutes, 60);
  EXPECT_TRUE(series.knows(30));
  EXPECT_TRUE(series.knows(90));
  EXPECT_FALSE(series.knows(60));
  ASSERT_EQ(series.days.size(), 1u);
  EXPECT_EQ(volume_by(series.days[0], 30), 300);
  EXPECT_EQ(volume_by(series.days[0], 90), 400);
  EXPECT_FLOAT_EQ(series.days[0].close, 2.5F);
  EXPECT_NEAR(knot_logs(series, series.days[0])[6], std::log(0.3), 1e-9);  // the knot at 30 minutes
}

TEST(Bars, UtcAndEndStampsWhereTheyAreDeclared) {
  const BarSeries series = series_of(
      "20110103 143000;1;1;1;1;5\n20110103 143100;1;1;1;1;70\n20110103 143200;1;1;1;1;90\n20110103 "
      "210000;1;1;1;1;110\n20110103 210100;1;1;1;1;5\n",
      {.utc = true, .columns = {}}, {.bar_minutes = 1, .stamped_end = true});
  ASSERT_EQ(series.days.size(), 1u);
  EXPECT_EQ(series.days[0].bars.front().minute, 0);
  EXPECT_EQ(series.days[0].total, 70 + 90 + 110);
}

TEST(Bars, ARowThatCannotBeReadIsToldAndSkipped) {
  BarDecoder decoder("klvn.csv", "KLVN", {}, new_york());
  ASSERT_TRUE(decoder.feed("datetime,volume\n2026-11-25 09:30,100\n2026-11-25 9h31,100\n2026-11-25 09:32,-4\n"));
  ASSERT_TRUE(decoder.finish());
  EXPECT_EQ(decoder.rows(), 3u);
  EXPECT_EQ(decoder.malformed(), 2u);
  ASSERT_EQ(decoder.told().size(), 2u);
  EXPECT_THAT(decoder.told()[0], HasSubstr("klvn.csv:3:1: found \"2026-11-25 9h31\""));
  EXPECT_THAT(decoder.told()[1], HasSubstr("klvn.csv:4:2: found \"-4\""));
  BarDecoder headless("x.csv", "X", {}, new_york());
  EXPECT_THAT(headless.feed("a,b\n1,2\n").error().text, HasSubstr("x.csv:1:1: header: found \"a,b\""));
}

// Any bytes: no crash, no row lost without a count. Run under the sanitizers of the dev build.
TEST(Bars, DamagedFilesAreCountedNotBelieved) {
  std::mt19937 random(17);
  const std::string sound = "symbol,datetime,open,close,volume\n" + [] {
    std::string rows;
    for (int m = 0; m < 120; ++m) {
      char line[64];
      std::snprintf(line, sizeof line, "KLVN,2026-11-25 %02d:%02d:00,1.5,1.6,%d\n", 9 + (m + 30) / 60, (m + 30) % 60,
                    100 + m);
      rows += line;
    }
    return rows;
  }();
  for (int round = 0; round < 300; ++round) {
    std::string text = sound;
    for (std::uint32_t i = 0; i < 1 + random() % 40; ++i)
      text[random() % text.size()] = static_cast<char>(random() % 256);
    BarDecoder decoder("x.csv", "X", {.utc = random() % 2 == 0, .columns = {}}, new_york());
    if (!decoder.feed(text) || !decoder.finish()) continue;
    std::uint64_t rows = 0;
    for (SymbolRows& one : decoder.symbols()) {
      rows += one.rows.size();
      const BarSeries series = assemble_bars(one.symbol, std::move(one.rows), {}, new_york());
      walk_days(series, {.minutes = {15, 60}}, [](const BarDay&, const GradedForecast&) {});
    }
    EXPECT_EQ(rows + decoder.malformed(), decoder.rows());
  }
}

TEST(Bars, SymbolsComeFromAColumnOrTheName) {
  BarDecoder decoder("panel.csv", "PANEL", {}, new_york());
  ASSERT_TRUE(decoder.feed(
      "symbol,datetime,volume\nKLVN,2026-11-25 09:30,1\nORRI,2026-11-25 09:30,2\nKLVN,2026-11-25 09:31,3\n"));
  ASSERT_EQ(decoder.symbols().size(), 2u);
  EXPECT_EQ(decoder.symbols()[0].rows.size(), 2u);
  EXPECT_EQ(symbol_of_file("/a/b/KLVN_2026-11.csv.gz"), "KLVN");
  EXPECT_EQ(symbol_of_file("OR.RI.csv"), "OR.RI");
}

}  // namespace
}  // namespace brimwatch
