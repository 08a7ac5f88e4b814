#include "volume/learning/bars.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "support/new_york.h"
#include "volume/grading/walk.h"
#include "volume/learning/bar_decoder.h"
#include "volume/learning/bar_time.h"

namespace brimwatch {
namespace {

using test::new_york;
using testing::HasSubstr;

BarSeries series_of(const std::string& text, BarFileOptions options = {}, BarReading reading = {},
                    const Calendar& calendar = new_york()) {
  BarDecoder decoder("test.csv", "KLVN", options, calendar);
  for (std::size_t at = 0; at < text.size(); at += 7)
    EXPECT_TRUE(decoder.feed(std::string_view(text).substr(at, 7)));  // in pieces
  EXPECT_TRUE(decoder.finish());
  EXPECT_EQ(decoder.malformed(), 0u);
  return decoder.symbols().empty() ? BarSeries()
                                   : assemble_bars("KLVN", std::move(decoder.symbols()[0].rows), reading, calendar);
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
  EXPECT_EQ(parse_stamp("2026-11-25 16:30:00 UTC+02:00")->minute, 14 * 60 + 30);
  EXPECT_EQ(parse_stamp("20110103 090100")->minute, 541);
  EXPECT_FALSE(parse_stamp("2026-11-25"));
}

// Central Europe's ten o'clock is no ten o'clock in New York.
TEST(BarTime, AZoneThatIsNotKnownIsNotTakenForTheExchanges) {
  for (const char* zone : {"PST", " PST", " CET", " CEST", " AEST", " WEST", " JST", " Chicago", " (local)", "X"}) {
    const std::string clock = std::string("09:30:00") + zone;
    EXPECT_FALSE(parse_clock(clock)) << clock;
    EXPECT_FALSE(parse_stamp("2026-11-25 " + clock)) << clock;
    EXPECT_FALSE(parse_stamp("2026-11-25 09:30:00.000" + std::string(zone))) << clock;
  }
  for (const char* zone : {"Z", "-05:00", "+00:00"}) EXPECT_FALSE(parse_clock(std::string("09:30:00") + zone)) << zone;
}

TEST(BarTime, TheZonesThatAreAllowedAreTold) {
  BarDecoder decoder("klvn.csv", "KLVN", {}, new_york());
  ASSERT_TRUE(decoder.feed("datetime,volume\n2026-11-25 09:30:00 CET,100\n2026-11-25 09:30:00 Mars/Base,100\n"));
  ASSERT_TRUE(decoder.finish());
  EXPECT_EQ(decoder.malformed(), 2u);
  EXPECT_THAT(decoder.told(),
              testing::ElementsAre(
                  "klvn.csv:2:1: found \"2026-11-25 09:30:00 CET\", expected a date and a time of day such as 2026-11-25 "
                  "09:30 (a zone after it as Z, -05:00 or America/New_York); the row was skipped",
                  "klvn.csv:3:1: found \"2026-11-25 09:30:00 Mars/Base\", expected a zone that is known, such as "
                  "America/New_York; the row was skipped"));
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
  EXPECT_THAT(decoder.told()[1], HasSubstr("klvn.csv:4:18: found \"-4\""));
  BarDecoder headless("x.csv", "X", {}, new_york());
  EXPECT_THAT(headless.feed("a,b\n1,2\n").error().text, HasSubstr("x.csv:1:1: header: found \"a,b\""));
}

/// A row is told and skipped; the others of the file are read. Gives what was told.
std::string told_of(const std::string& header, const std::string& row, BarFileOptions options = {}) {
  BarDecoder decoder("klvn.csv", "KLVN", options, new_york());
  EXPECT_TRUE(decoder.feed(header + row + "\n"));
  EXPECT_TRUE(decoder.finish());
  EXPECT_EQ(decoder.malformed(), 1u) << row;
  return decoder.told().empty() ? "" : decoder.told().front();
}

TEST(Bars, CommasBetweenThousandsAreRead) {
  const std::string wanted = "datetime,open,close,volume\n2026-11-25 09:30,\"1,048.50\",\"1,049.00\",\"1,234,567\"\n";
  for (const std::string& text :
       {wanted, std::string("datetime\topen\tclose\tvolume\n2026-11-25 09:30\t1,048.50\t1,049.00\t1,234,567\n")}) {
    const BarSeries series = series_of(text);
    ASSERT_EQ(series.days.size(), 1u);
    EXPECT_EQ(series.days[0].total, 1'234'567);
    EXPECT_FLOAT_EQ(series.days[0].close, 1049);
  }
  BarDecoder exact("klvn.csv", "KLVN", {.columns = {}, .prices = true}, new_york());
  ASSERT_TRUE(exact.feed(wanted));
  ASSERT_EQ(exact.malformed(), 0u);
  EXPECT_EQ(exact.symbols()[0].prices[0].close, Price{1'049'000'000});
}

TEST(Bars, ValuesThatMayStandInTheWrongColumnAreToldAndSkipped) {
  EXPECT_EQ(
      told_of("datetime,volume\n", "2026-11-25 09:30,\"1,5\""),
      "klvn.csv:2:18: found \"1,5\", expected a volume from 0 to 9e12 (commas only between thousands, as in 1,234,567 "
      "or 1,234.50; not where they can mean a decimal comma); the row was skipped");
  EXPECT_EQ(told_of("datetime,volume\n", "2026-11-25 09:30,1,234,567"),
            "klvn.csv:2:20: found 4 fields, expected no more than the 2 of the header (a separator within a field needs "
            "quotes around it); the row was skipped");
  EXPECT_EQ(told_of("datetime,volume\n", "2026-11-25 09:30,\"1,234"),
            "klvn.csv:2:18: found a quote that is never closed, expected a second one in the same line; the row was "
            "skipped");
  EXPECT_THAT(told_of("", "2026-11-25 09:30,1,234", {.columns = {"datetime", "volume"}}),
              HasSubstr("klvn.csv:1:20: found 3 fields, expected no more than the 2"));
  EXPECT_EQ(series_of("datetime,volume\n2026-11-25 09:30,100,\n").days[0].total, 100) << "a separator at the line's end";
}

// There the comma is most likely the decimal mark, and the point may part thousands.
TEST(Bars, BetweenSemicolonsNoNumberIsGuessedAt) {
  EXPECT_THAT(told_of("datetime;volume\n", "2026-11-25 09:30;1,234"), HasSubstr("klvn.csv:2:18: found \"1,234\""));
  EXPECT_THAT(told_of("datetime;volume\n", "2026-11-25 09:30;1.234"), HasSubstr("klvn.csv:2:18: found \"1.234\""));
  EXPECT_EQ(series_of("datetime;volume\n2026-11-25 09:30;1234.5\n").days[0].total, 1234.5);
  BarDecoder decoder("klvn.csv", "KLVN", {}, new_york());
  ASSERT_TRUE(decoder.feed("datetime;close;volume\n2026-11-25 09:30;49,5;100\n2026-11-25 09:31;49,6;100\n"));
  EXPECT_EQ(decoder.malformed(), 0u);
  EXPECT_THAT(decoder.told(),
              testing::ElementsAre("klvn.csv:2:18: found \"49,5\", expected a price such as 48.35; prices "
                                   "that cannot be read count as not known"));
}

const Calendar& tokyo() {
  static const auto calendar = Calendar::load("XTKS", {});
  return **calendar;
}

struct Stamped {
  int from, to, step;  ///< minutes of the day, `to` not among them
};

/// Rows of a day in Tokyo (9:00 to 11:30 and 12:30 to 15:30), each of 100 shares, stamped `later` minutes after they
/// begin.
std::string tokyo_rows(const std::string& day, std::initializer_list<Stamped> parts, int later = 0) {
  std::string text;
  for (const Stamped& part : parts) {
    for (int minute = part.from + later; minute < part.to + later; minute += part.step) {
      char line[64];
      std::snprintf(line, sizeof line, "%s,%02d:%02d,100\n", day.c_str(), minute / 60, minute % 60);
      text += line;
    }
  }
  return text;
}

BarSeries tokyo_series(const std::string& rows, BarReading reading = {}) {
  return series_of("date,time,volume\n" + rows, {}, reading, tokyo());
}

constexpr const char* kTokyoDay = "2026-11-25";
constexpr int kMorning = 9 * 60, kBreak = 11 * 60 + 30, kAfternoon = 12 * 60 + 30, kTokyoClose = 15 * 60 + 30;

TEST(Bars, TheMorningsAuctionIsNotTakenForTheAfternoonsFirstBar) {
  for (const int step : {1, 5, 15, 30}) {
    const Stamped morning{kMorning, kBreak + step, step}, afternoon{kAfternoon, kTokyoClose, step};
    const BarSeries series = tokyo_series(tokyo_rows(kTokyoDay, {morning, afternoon}));
    ASSERT_EQ(series.days.size(), 1u);
    const SessionBars& day = series.days[0];
    EXPECT_EQ(day.session_minutes, 330);
    EXPECT_EQ(day.bars.size(), static_cast<std::size_t>(330 / step));
    EXPECT_EQ(day.total, 100 * (330 / step + 1)) << "with the bar of 11:30";
    EXPECT_EQ(volume_by(day, 150), 100 * (150 / step + 1)) << "which belongs to the morning";
    EXPECT_EQ(series.counts.repeated, 0u);
    EXPECT_EQ(series.counts.beside_break, 1u);
    EXPECT_EQ(series.counts.in_break, 0u);
  }
}

TEST(Bars, BarsStampedByTheirEndsAreKnownAcrossABreak) {
  const std::string rows =
      tokyo_rows(kTokyoDay, {{kMorning, kBreak, 15}, {kAfternoon, kTokyoClose, 15}}, 15);  // 11:30 ends the morning
  for (const BarReading& reading : {BarReading{}, BarReading{.stamped_end = true}}) {
    const BarSeries series = tokyo_series(rows, reading);
    ASSERT_EQ(series.days.size(), 1u);
    EXPECT_EQ(series.counts.took_end_stamped, !reading.stamped_end);
    EXPECT_EQ(series.days[0].bars.size(), 22u);
    EXPECT_EQ(series.days[0].total, 2200);
    EXPECT_EQ(volume_by(series.days[0], 150), 1000);
    EXPECT_EQ(series.days[0].bars[10].minute, 150);
    EXPECT_EQ(series.counts.outside_session, 0u);
  }
}

TEST(Bars, TheAfternoonsOpeningStampedByItsEndIsAPartOfTheAfternoon) {
  const std::string rows = tokyo_rows(kTokyoDay, {{kMorning, kBreak, 15}, {kAfternoon, kTokyoClose, 15}}, 15) +
                           std::string(kTokyoDay) + ",12:30,7000\n";
  const BarSeries series = tokyo_series(rows, {.stamped_end = true});
  ASSERT_EQ(series.days.size(), 1u);
  EXPECT_EQ(series.days[0].total, 2200 + 7000);
  EXPECT_EQ(volume_by(series.days[0], 150), 1000);
  EXPECT_EQ(volume_by(series.days[0], 165), 1000 + 7000 + 100);
  EXPECT_EQ(series.counts.repeated, 0u);
}

// 11:00 holds the morning's last half hour, 12:00 the afternoon's first: an hour of trading in two rows.
TEST(Bars, HoursAcrossABreakAreCountedOnce) {
  for (const int later : {0, 60}) {
    const BarSeries series = tokyo_series(tokyo_rows(kTokyoDay, {{kMorning, 16 * 60, 60}}, later),
                                          {.bar_minutes = 60, .stamped_end = later > 0});
    ASSERT_EQ(series.days.size(), 1u);
    const SessionBars& day = series.days[0];
    EXPECT_EQ(day.total, 700);
    EXPECT_EQ(day.bars.size(), 6u);
    EXPECT_EQ(volume_by(day, 120), 200);
    EXPECT_EQ(volume_by(day, 180), 400);
    EXPECT_EQ(volume_by(day, 240), 500);
    EXPECT_EQ(series.counts.repeated, 0u);
  }
}

TEST(Bars, BarsWithinABreakAreLeftOutAndCounted) {
  const std::string rows = tokyo_rows(kTokyoDay, {{kMorning, kBreak, 15}, {kAfternoon, kTokyoClose, 15}}) +
                           std::string(kTokyoDay) + ",11:45,40\n" + kTokyoDay + ",12:15,2\n" + kTokyoDay + ",12:00,0\n";
  const BarSeries series = tokyo_series(rows);
  EXPECT_EQ(series.days[0].total, 2200);
  EXPECT_EQ(series.counts.in_break, 2u) << "not the empty one";
  EXPECT_EQ(break_remark(series.counts),
            "2 bars with 42 shares within the lunch break, when nothing is traded; left out");
  EXPECT_EQ(break_remark({}), "");
  EXPECT_EQ(series.counts.outside_session, 3u);
  EXPECT_EQ(series.counts.repeated, 0u);
}

TEST(Bars, RowsOfTwoFilesThatOverlapAreCountedOnce) {
  const std::string day = tokyo_rows(kTokyoDay, {{kMorning, kBreak + 1, 1}, {kAfternoon, kTokyoClose + 1, 1}});
  const BarSeries once = tokyo_series(day), twice = tokyo_series(day + day);
  EXPECT_EQ(once.days[0].total, 100 * 331 + (once.counts.closing_bar ? 100 : 0));
  EXPECT_EQ(twice.days[0].total, once.days[0].total);
  EXPECT_EQ(twice.counts.repeated, 332u);
  std::string auction = "date,time,volume\n";
  for (int minute = 570; minute <= 960; ++minute) {
    char line[64];
    std::snprintf(line, sizeof line, "2026-11-25,%02d:%02d,%d\n", minute / 60, minute % 60, minute < 960 ? 100 : 9000);
    auction += line;
    auction += line;
  }
  const BarSeries closing = series_of(auction);
  EXPECT_TRUE(closing.counts.closing_bar);
  EXPECT_EQ(closing.days[0].total, 39'000 + 9'000) << "the closing auction too";
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
      walk_days(series, {.minutes = {15, 60}}, [](const SessionBars&, const GradedForecast&) {});
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
