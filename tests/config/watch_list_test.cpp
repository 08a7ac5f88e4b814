// Watches in TOML and CSV: exact prices, levels, and what must hold among them.
#include <gmock/gmock.h>

#include "config/loader.h"
#include "folder.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

struct WatchLists : testing::Test {
  Folder folder;
  Loaded loaded;

  std::vector<std::string> errors_with(const std::string& name, const std::string& text, const std::string& rest = "") {
    folder.write(name, text);
    loaded = load_settings(folder.write("main.toml", "watch_lists = [\"" + name + "\"]\n" + rest));
    return folder.lines(loaded.problems);
  }
  Watch watch(std::size_t i) {
    EXPECT_LT(i, loaded.settings.watches.size());
    return i < loaded.settings.watches.size() ? loaded.settings.watches[i] : Watch{};
  }
};

TEST_F(WatchLists, levels_of_a_pivot_come_out_exact) {
  // A handle's high of 48.25 makes a pivot of 48.35; 5 % above is 50.7675, so one buys up to 50.76; 8 % below is 44.482,
  // which is reached at 44.48. Common practice of the trade; the arithmetic by hand.
  ASSERT_THAT(errors_with("w.toml", "[[watch]]\nsymbol = \"KLVN\"\npeak = 48.25\nnormal_volume = 1_300_000\n"),
              IsEmpty());
  EXPECT_EQ(watch(0).pivot, Price{48'350'000});
  EXPECT_EQ(watch(0).range_top, Price{50'760'000});
  EXPECT_EQ(watch(0).slip_level, Price{47'860'000});
  EXPECT_EQ(watch(0).loss_limit, Price{44'480'000});
  EXPECT_EQ(watch(0).normal_volume, Shares::whole(1'300'000));
}

TEST_F(WatchLists, a_price_may_be_written_in_every_way_of_toml) {
  ASSERT_THAT(
      errors_with(
          "w.toml",
          "watch = [\n"
          "  { symbol = \"A\", pivot = 48.35 },{symbol=\"B\",pivot=4_8.3_5},\n"
          "  { symbol = \"C\", pivot = 4.835e1 }, { symbol = \"D\", pivot = \"48.35\" }, # x\n"
          "  { symbol = \"E\", pivot = +4835e-2 }, { symbol = \"F\", pivot = 48 },\n"
          "  { symbol = \"G\", pivot = 0x30 }, { symbol = \"H\", pivot = 0.000001, tick_size = 0.000001, range = 100 },\n"
          "  { symbol = \"\xC3\x84\xC3\x96\", pivot = 123456.789012 }, { symbol = \"J\", pivot = 48.350000000 }]\n"),
      IsEmpty());
  std::vector<std::int64_t> micros;
  for (const Watch& one : loaded.settings.watches) micros.push_back(one.pivot.micros);
  EXPECT_THAT(micros, ElementsAre(48'350'000, 48'350'000, 48'350'000, 48'350'000, 48'350'000, 48'000'000, 48'000'000, 1,
                                  123'456'789'012, 48'350'000));
}

TEST_F(WatchLists, what_is_no_price_is_told) {
  EXPECT_THAT(
      errors_with("w.toml",
                  "watch = [\n"
                  "  { symbol = \"A\", pivot = 0 },\n"
                  "  { symbol = \"B\", pivot = -1.5 },\n"
                  "  { symbol = \"C\", pivot = 48.3500001 },\n"
                  "  { symbol = \"D\", pivot = inf },\n"
                  "  { symbol = \"E\", pivot = nan },\n"
                  "  { symbol = \"F\", pivot = 1e300 },\n"
                  "  { symbol = \"G\", pivot = true },\n"
                  "  { symbol = \"H\", pivot = [1] },\n"
                  "  { symbol = \"I\", pivot = 9_223_372_036_854_775_807 },\n"
                  "  { symbol = \"J\", pivot = \"\" }]\n"),
      ElementsAre(HasSubstr("w.toml:2:27: watch \"A\": pivot: found 0, "),
                  HasSubstr("w.toml:3:27: watch \"B\": pivot: found -1.5, "),
                  HasSubstr("found 48.3500001, expected a number above 0 and at most 10000000 with at most six decimals"),
                  HasSubstr("found inf, "), HasSubstr("found nan, "), HasSubstr("found 1e300, "),
                  HasSubstr("found true, "), HasSubstr("found a list, "), HasSubstr("found 9_223_372_036_854_775_807, "),
                  HasSubstr("found \"\", ")));
}

TEST_F(WatchLists, a_watch_needs_a_symbol_and_one_of_pivot_and_peak) {
  EXPECT_THAT(
      errors_with("w.toml",
                  "[[watch]]\npivot = 1\n[[watch]]\nsymbol = \"A\"\n[[watch]]\nsymbol = \"B\"\npeak = 1\npivot = "
                  "2\n[[watch]]\nsymbol = \"C\"\nprice = 3\n"),
      ElementsAre(
          "w.toml:1:1: watch: symbol: found none, expected one such as \"KLVN\"; nothing was loaded",
          "w.toml:3:1: watch \"A\": found neither pivot nor peak, expected one of them; nothing was loaded",
          "w.toml:7:8: watch \"B\": peak: found both pivot and peak, expected one of them; nothing was loaded",
          "w.toml:9:1: watch \"C\": found neither pivot nor peak, expected one of them; nothing was loaded",
          HasSubstr("w.toml:11:1: watch \"C\": found the unknown key \"price\", expected one of symbol, pivot, ")));
}

TEST_F(WatchLists, symbols_and_notes_have_limits) {
  const std::string long_note(201, 'n');
  std::string umlauts;
  for (int i = 0; i < 200; ++i) umlauts += "\xC3\xA4";
  EXPECT_THAT(
      errors_with("w.toml",
                  "watch = [\n"
                  "  { symbol = \"" +
                      std::string(33, 'X') +
                      "\", pivot = 1 },\n"
                      "  { symbol = \"A\\u0007\", pivot = 1 },\n"
                      "  { symbol = \"../../etc\", pivot = 1 },\n"
                      "  { symbol = \"A B\", pivot = 1 },\n"
                      "  { symbol = \"\", pivot = 1 },\n"
                      "  { symbol = \"N\", pivot = 1, note = \"" +
                      long_note +
                      "\" },\n"
                      "  { symbol = \"M\", pivot = 1, note = \"a\\u001b[31m\" },\n"
                      "  { symbol = \"O\", pivot = 1, note = \"" +
                      umlauts +
                      "\" },\n"
                      "  { symbol = \"" +
                      std::string(32, 'X') + "\", pivot = 1 }]\n"),
      ElementsAre(
          HasSubstr("symbol: found 33 bytes, expected at most 32"),
          HasSubstr("symbol: found \"A\\x07\", expected a symbol without spaces, control characters, quotes, commas or "
                    "slashes"),
          HasSubstr("symbol: found \"../../etc\""), HasSubstr("symbol: found \"A B\""),
          HasSubstr("symbol: found no symbol, expected one such as \"KLVN\""),
          HasSubstr("note: found 201 characters, expected at most 200"),
          HasSubstr("note: found \"a\\x1B[31m\", expected text without control characters")));
}

TEST_F(WatchLists, dates_have_to_be_days_in_their_order) {
  EXPECT_THAT(
      errors_with("w.toml",
                  "watch = [\n"
                  "  { symbol = \"A\", pivot = 1, from = 2026-11-02, until = \"2026-11-01\" },\n"
                  "  { symbol = \"B\", pivot = 1, from = \"2026-02-29\" },\n"
                  "  { symbol = \"C\", pivot = 1, from = 2026-11-02, until = 2026-11-02 }]\n"),
      ElementsAre(
          "w.toml:2:57: watch \"A\": until: found 2026-11-01, expected a day not before from, 2026-11-02; nothing was "
          "loaded",
          "w.toml:3:37: watch \"B\": from: found \"2026-02-29\", expected a day that exists, as 2026-12-31; nothing was "
          "loaded"));
}

TEST_F(WatchLists, rules_go_from_the_main_file_to_the_list_to_the_watch) {
  ASSERT_THAT(errors_with("w.toml",
                          "[rules]\nsurge = 50\n[[watch]]\nsymbol = \"A\"\npivot = 10\n[[watch]]\nsymbol = \"B\"\npivot "
                          "= 10\nsurge = 60.5\n"
                          "range = 2\n",
                          "[rules]\nsurge = 45\nloss = 7\n[[watch]]\nsymbol = \"C\"\npivot = 10\n"),
              IsEmpty());
  EXPECT_EQ(watch(0).symbol, "C");
  EXPECT_EQ(watch(0).rules.surge, 45'000'000);
  EXPECT_EQ(watch(1).rules.surge, 50'000'000);
  EXPECT_EQ(watch(2).rules.surge, 60'500'000);
  EXPECT_EQ(watch(2).range_top, Price{10'200'000});
  EXPECT_EQ(watch(2).loss_limit, Price{9'300'000});
}

TEST_F(WatchLists, a_range_that_the_tick_cuts_away_is_told) {
  EXPECT_THAT(errors_with("w.toml", "[[watch]]\nsymbol = \"A\"\npivot = 0.19\ntick_size = 0.01\n"),
              ElementsAre("w.toml:3:9: watch \"A\": range: found a range from 0.19 to 0.1995, expected one with the next "
                          "price in it, 0.20: a wider range, or a finer tick_size; nothing was loaded"));
  EXPECT_THAT(errors_with("w.toml", "[[watch]]\nsymbol = \"A\"\npivot = 12\ncalendar = \"XTKS\"\n"),
              ElementsAre(HasSubstr("found a range from 12.00 to 12.60, expected one with the next price in it, 13.00")));
}

TEST_F(WatchLists, levels_lie_on_the_ticks_of_the_calendar_s_market) {
  ASSERT_THAT(errors_with("w.toml",
                          "[[watch]]\nsymbol = \"A\"\npivot = 0.19\n"
                          "[[watch]]\nsymbol = \"B\"\npeak = 2990\ncalendar = \"XTKS\"\n"
                          "[[watch]]\nsymbol = \"C\"\npeak = 2990\ncalendar = \"XTKS\"\ntick_table = \"XTKS-500\"\n"
                          "[[watch]]\nsymbol = \"D\"\npivot = 10\ntick_size = 0.005\n"),
              IsEmpty());
  EXPECT_EQ(to_string(watch(0).range_top), "0.1995") << "under a dollar a tick is a hundredth of a cent";
  EXPECT_EQ(to_string(watch(1).pivot), "2991.00") << "the first price that is 0.10 over the peak";
  EXPECT_EQ(to_string(watch(1).loss_limit), "2751.00") << "2751.72";
  EXPECT_EQ(to_string(watch(2).pivot), "2990.50");
  EXPECT_EQ(to_string(watch(2).loss_limit), "2751.00") << "2751.26 in halves";
  EXPECT_EQ(to_string(watch(3).range_top), "10.50");
}

TEST_F(WatchLists, a_table_of_ticks_has_a_name) {
  EXPECT_THAT(errors_with("w.toml", "[[watch]]\nsymbol = \"A\"\npivot = 412\ntick_table = \"XLON\"\n"),
              ElementsAre(HasSubstr("tick_table: found \"XLON\", expected")));
}

TEST_F(WatchLists, of_the_same_symbol_and_pivot_twice_the_first_holds_and_two_pivots_are_two) {
  folder.write("b.csv", "symbol,pivot\nA,2\nA,3\nA,1.00\n");
  EXPECT_THAT(errors_with("w.toml", "watch = [{ symbol = \"A\", pivot = 1 }, { symbol = \"A\", peak = 1.9 }]\n",
                          "[[watch]]\nsymbol = \"B\"\npivot = 1\n"),
              IsEmpty());
  loaded = load_settings(folder.write("main.toml", "watch_lists = [\"w.toml\", \"b.csv\"]\n"));
  EXPECT_THAT(folder.lines(loaded.problems), IsEmpty());
  EXPECT_THAT(folder.lines(loaded.warnings),
              testing::IsSupersetOf({"b.csv:2:3: watch \"A\": pivot: found 2.00 a second time; the watch in w.toml:1 "
                                     "holds, this one was left out",
                                     "b.csv:4:3: watch \"A\": pivot: found 1.00 a second time; the watch in w.toml:1 "
                                     "holds, this one was left out"}));
  std::vector<std::string> held;
  for (const Watch& one : loaded.settings.watches) held.push_back(to_string(one.pivot));
  EXPECT_THAT(held, ElementsAre("1.00", "2.00", "3.00"));
}

TEST_F(WatchLists, one_symbol_has_one_calendar) {
  EXPECT_THAT(
      errors_with("w.toml",
                  "[[watch]]\nsymbol = \"A\"\npivot = 2\n[[watch]]\nsymbol = \"A\"\npivot = 1\ncalendar = \"XTSE\"\n"),
      ElementsAre("w.toml:6:9: watch \"A\": calendar: found \"XTSE\", expected \"XNYS\" as in w.toml:3: a symbol has one "
                  "calendar; "
                  "nothing was loaded"));
}

/// A list that is there and empty is its owner's word: what was added by a command or bought is watched all the same.
TEST_F(WatchLists, a_pattern_without_any_list_is_an_error_and_an_empty_list_a_warning) {
  EXPECT_THAT(folder.lines(load_settings(folder.write("main.toml", "watch_lists = [\"x*.toml\"]\n")).problems),
              ElementsAre("main.toml:1:16: watch_lists: found no list, expected one at least; nothing was loaded"));
  folder.write("empty.toml", "# nothing this week\n");
  loaded = load_settings(folder.write("main.toml", "watch_lists = [\"empty.toml\"]\n"));
  EXPECT_THAT(loaded.problems, testing::IsEmpty());
  EXPECT_THAT(folder.lines(loaded.warnings), testing::Contains("empty.toml: the list has no watches"));
}

TEST_F(WatchLists, of_a_linked_configuration_are_looked_for_beside_what_it_leads_to_as_well) {
  namespace fs = std::filesystem;
  fs::create_directories(folder.path("own/lists"));
  fs::create_directories(folder.path("etc"));
  folder.write("own/lists/a.csv", "symbol,pivot\nA,1\n");
  folder.write("own/b.toml", "[[watch]]\nsymbol = \"B\"\npivot = 2\n");
  folder.write("own/main.toml", "watch_lists = [\"lists/*.csv\", \"b.toml\", \"none/*.csv\"]\n");
  fs::create_symlink("../own/main.toml", folder.path("etc/main.toml"));
  loaded = load_settings(folder.path("etc/main.toml"));
  EXPECT_THAT(loaded.problems, testing::IsEmpty());
  EXPECT_THAT(loaded.settings.watches, SizeIs(2));
  EXPECT_THAT(folder.lines(loaded.warnings),
              testing::Contains("etc/main.toml:1:41: watch_lists: no file matches \"none/*.csv\" in etc or own"));
  folder.write("etc/b.toml", "[[watch]]\nsymbol = \"C\"\npivot = 2\n");
  loaded = load_settings(folder.path("etc/main.toml"));
  EXPECT_EQ(watch(1).symbol, "C") << "the one beside the link comes first";
}

TEST_F(WatchLists, wildcards_are_sorted_and_missing_files_are_told) {
  folder.write("b.csv", "symbol,pivot\nB,1\n");
  folder.write("a.csv", "symbol,pivot\nA,1\n");
  loaded = load_settings(folder.write("main.toml", "watch_lists = [\"*.csv\", \"a.csv\", \"x*.toml\"]\n"));
  EXPECT_TRUE(loaded.ok());
  ASSERT_THAT(loaded.settings.watches, SizeIs(2));
  EXPECT_EQ(watch(0).symbol, "A");
  EXPECT_THAT(
      folder.lines(loaded.warnings),
      testing::IsSupersetOf({std::string("main.toml:1:25: watch_lists: \"a.csv\" is named twice; it was read once"),
                             "main.toml:1:34: watch_lists: no file matches \"x*.toml\" in " + folder.path()}));
  loaded = load_settings(folder.write("main.toml", "watch_lists = [\"none.toml\", \"list.txt\"]\n"));
  EXPECT_THAT(
      folder.lines(loaded.problems),
      ElementsAre(
          "main.toml:1:16: watch_lists: \"none.toml\": found no such file; nothing was loaded",
          "main.toml:1:29: watch_lists: found \"list.txt\", expected a name that ends in .toml or .csv; nothing was "
          "loaded"));
}

TEST_F(WatchLists, a_list_knows_only_rules_and_watches) {
  EXPECT_THAT(
      errors_with("w.toml", "[feed]\nkind = \"pipe\"\n[[wacth]]\nsymbol = \"A\"\n"),
      ElementsAre("w.toml:1:2: found the unknown key \"feed\", expected one of rules, watch; nothing was loaded",
                  "w.toml:3:3: found the unknown key \"wacth\"; nearest known key \"watch\"; nothing was loaded"));
}

TEST_F(WatchLists, reads_csv_with_quotes_comments_and_gaps) {
  ASSERT_THAT(errors_with("w.csv",
                          "\xEF\xBB\xBF# a comment, with a comma\r\n"
                          "symbol,pivot,peak,normal_volume,range,note,until,tape,listing\r\n"
                          "\r\n"
                          "KLVN,48.35,,1.3M,,\"a, \"\"b\"\"\",2026-12-31,C,Q\r\n"
                          "  ORRI , ,112.40,,3, plain note ,,,\r\n"
                          "TAMBU,7.125,,640000,,,,A,"),
              IsEmpty());
  ASSERT_THAT(loaded.settings.watches, SizeIs(3));
  EXPECT_EQ(watch(0).note, "a, \"b\"");
  EXPECT_EQ(watch(0).normal_volume, Shares::whole(1'300'000));
  EXPECT_EQ(watch(0).until, Date::of(2026, 12, 31));
  EXPECT_EQ(watch(0).tape, Tape::utdf);
  EXPECT_EQ(watch(0).listing, 'Q');
  EXPECT_EQ(watch(1).symbol, "ORRI");
  EXPECT_EQ(watch(1).pivot, Price{112'500'000});
  EXPECT_EQ(watch(1).rules.range, 3'000'000);
  EXPECT_EQ(watch(1).note, "plain note");
  EXPECT_EQ(watch(1).line, 5U);
  EXPECT_EQ(watch(1).column, 11U);
  EXPECT_EQ(watch(2).normal_volume, Shares::whole(640'000));
}

TEST_F(WatchLists, each_bad_row_of_a_csv_is_told) {
  EXPECT_THAT(
      errors_with("w.csv",
                  "symbol,pivot,normal_volume,per_day,from,until\n"
                  "KLVN,48.35\n"
                  "ORRI,ten,,,,\n"
                  "TAMBU,1e3,-5,2.5,,\n"
                  "VESK,,,,,\n"
                  ",5,,,,\n"
                  "NIVO,5,,,2026-11-02,2026-11-01\n"
                  "\xC3\x84\xC3\x84,0,,,,\n"),
      ElementsAre(
          "w.csv:2:1: watch: found 2 cells, expected 6 as in the first line; nothing was loaded",
          HasSubstr("w.csv:3:6: watch \"ORRI\": pivot: found \"ten\", expected a number"),
          HasSubstr("w.csv:4:7: watch \"TAMBU\": pivot: found \"1e3\", expected a number"),
          "w.csv:4:11: watch \"TAMBU\": normal_volume: found \"-5\", expected a number of shares above 0 such as "
          "1_300_000 "
          "or \"1.3M\"; nothing was loaded",
          "w.csv:4:14: watch \"TAMBU\": per_day: found \"2.5\", expected a whole number from 1 to 100; nothing was "
          "loaded",
          "w.csv:5:1: watch \"VESK\": found neither pivot nor peak, expected one of them; nothing was loaded",
          "w.csv:6:1: watch: symbol: found none, expected one such as \"KLVN\"; nothing was loaded",
          "w.csv:7:21: watch \"NIVO\": until: found 2026-11-01, expected a day not before from, 2026-11-02; nothing was "
          "loaded",
          HasSubstr("w.csv:8:4: watch \"\xC3\x84\xC3\x84\": pivot: found \"0\"")));
}

TEST_F(WatchLists, what_was_meant_is_said_of_numbers_and_days_written_as_text) {
  EXPECT_THAT(
      errors_with(
          "w.csv",
          "symbol,pivot,range,normal_volume,until\nA,\"54,09\",5%,\"1,300,000\",31.12.2026\nB,$12.10,5,,12/31/2026\n"),
      ElementsAre(
          "w.csv:2:3: watch \"A\": pivot: found \"54,09\", expected a point for the decimals: 54.09; nothing was loaded",
          "w.csv:2:11: watch \"A\": range: found \"5%\", expected the number alone: 5; nothing was loaded",
          "w.csv:2:14: watch \"A\": normal_volume: found \"1,300,000\", expected no commas: 1300000; nothing was loaded",
          "w.csv:2:26: watch \"A\": until: found \"31.12.2026\", expected a date as year-month-day: 2026-12-31; nothing "
          "was loaded",
          "w.csv:3:3: watch \"B\": pivot: found \"$12.10\", expected the number alone: 12.10; nothing was loaded",
          "w.csv:3:13: watch \"B\": until: found \"12/31/2026\", expected a date as year-month-day: 2026-12-31; nothing "
          "was loaded"));
  EXPECT_THAT(errors_with("w.toml", "[[watch]]\nsymbol = \"A\"\npivot = \"54,09\"\n"),
              ElementsAre("w.toml:3:9: watch \"A\": pivot: found \"54,09\", expected a point for the decimals: 54.09; "
                          "nothing was loaded"));
}

TEST_F(WatchLists, a_bad_head_of_a_csv_is_told_and_its_rows_are_not_read) {
  EXPECT_THAT(errors_with("w.csv", "symbol,pivto,pivot,pivot\nA,B,C,D\n"),
              ElementsAre("w.csv:1:8: found the unknown key \"pivto\"; nearest known key \"pivot\"; nothing was loaded",
                          "w.csv:1:20: found the column \"pivot\" twice, expected it once; nothing was loaded"));
  EXPECT_THAT(errors_with("w.csv", "symbol;pivot\nA;1\n"),
              ElementsAre("w.csv:1:1: found semicolons between the columns, expected commas; nothing was loaded"));
  EXPECT_THAT(errors_with("w.csv", "symbol\tpivot\nA\t1\n"),
              ElementsAre("w.csv:1:1: found tabs between the columns, expected commas; nothing was loaded"));
  EXPECT_THAT(errors_with("w.csv", "VORQ,54.09\nOSKUP,12.5\n"),
              ElementsAre("w.csv:1:1: found no names of columns, expected a first line such as symbol,pivot; nothing was "
                          "loaded"));
  EXPECT_THAT(errors_with("w.csv", "Ticker,pivot\nA,1\n"),
              ElementsAre("w.csv:1:1: found the unknown column \"Ticker\", expected symbol, pivot and, if wanted, other "
                          "keys of a watch; nothing was loaded"));
  EXPECT_THAT(errors_with("w.csv", "note\nx\n"),
              ElementsAre("w.csv:1: found no column symbol, expected symbol and pivot or peak; nothing was loaded",
                          "w.csv:1: found neither a column pivot nor peak, expected one of them; nothing was loaded"));
  EXPECT_THAT(
      errors_with("w.csv", ""),
      ElementsAre(
          "w.csv: found an empty file, expected a first line that names the columns: symbol,pivot; nothing was loaded"));
  EXPECT_THAT(errors_with("w.csv", "symbol,pivot\nA,\"1\n"),
              ElementsAre("w.csv:2:3: found a quote that is never closed, expected a second one; nothing was loaded"));
}

TEST_F(WatchLists, sale_conditions_follow_the_feed_where_the_watch_does_not_say) {
  ASSERT_THAT(
      errors_with("w.csv", "symbol,pivot,tape\nA,1,\nB,1,A\n", "[feed]\nkind = \"pipe\"\nconditions = \"utdf\"\n"),
      IsEmpty());
  EXPECT_EQ(watch(0).tape, Tape::utdf);
  EXPECT_EQ(watch(1).tape, Tape::cts);
}

TEST(WatchSize, a_million_watches_fit_into_a_quarter_of_a_gigabyte) { EXPECT_LE(sizeof(Watch), 232U); }

}  // namespace
}  // namespace brimwatch
