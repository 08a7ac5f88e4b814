#include "config/overview.h"

#include <gmock/gmock.h>

#include "folder.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

struct OverviewOf : testing::Test {
  Folder folder;
  Settings settings;

  OverviewOf() {
    settings = load_settings(folder.write("main.toml", R"(
[feed]
kind = "pipe"
[[channel]]
kind = "console"
[[channel]]
kind = "email"
name = "mail"
write_to = "m"
kinds = ["crossed"]
weights = ["heavy"]
quiet = { from = "22:00", to = "07:00" }
[[watch]]
symbol = "KLVN"
pivot = 48.35
normal_volume = "1.3M"
until = 2026-12-31
[[watch]]
symbol = "ORRI"
pivot = 112.5
confirm_trades = 2
confirm_seconds = 5
calendar = "XTSE"
note = "a \"b\""
[[watch]]
symbol = "TAMBU"
pivot = 7.125
bad_print = 0
rearm = 0
)"))
                   .settings;
  }

  static NormalVolume normal_of(const Watch& watch) {
    if (watch.normal_volume) return {NormalVolume::From::list, *watch.normal_volume, 0, {}, {}, 0.03};
    if (watch.symbol == "ORRI")
      return {NormalVolume::From::history, Shares::whole(641'234), 50, Date::of(2026, 11, 24), {}, 0};
    NormalVolume unknown;
    unknown.trouble = "history/TAMBU.csv: no such file";
    return unknown;
  }

  Overview overview(std::vector<std::string> only = {}) const {
    return {settings, normal_of, Trend::up, "as you set it", std::move(only)};
  }
};

TEST_F(OverviewOf, three_watches_is_an_aligned_table) {
  EXPECT_EQ(
      overview_table(overview()),
      "symbol   pivot  range to  loss at  normal volume                remarks\n"
      "KLVN     48.35     50.76    44.48  1.30M, given                 until 2026-12-31, feed carries 3 % of the tape\n"
      "ORRI    112.50    118.12   103.50  641k, 50 days to 2026-11-24  XTSE\n"
      "TAMBU    7.125      7.48     6.55  unknown: cannot be judged\n"
      "\n"
      "3 watches on 3 symbols; 1 without a normal\n"
      "  volume: give normal_volume, or daily bars in [history]\n"
      "market    up, as you set it\n"
      "feeds     feed (pipe)\n"
      "channels  console, mail (email)\n");
}

TEST_F(OverviewOf, one_symbol_can_be_picked) {
  EXPECT_THAT(overview_table(overview({"ORRI"})), HasSubstr("\n1 watch on 1 symbol\n"));
}

TEST_F(OverviewOf, watches_that_are_over_or_to_come_are_marked_and_counted_apart) {
  Overview at = overview({"KLVN"});
  at.today = Date::of(2026, 12, 31);
  EXPECT_THAT(overview_table(at), HasSubstr("until 2026-12-31, "));
  EXPECT_THAT(overview_table(at), HasSubstr("1 watch on 1 symbol, 1 in force on 2026-12-31\n"));
  at.today = Date::of(2027, 1, 1);
  EXPECT_THAT(overview_table(at), HasSubstr("ended 2026-12-31, "));
  EXPECT_THAT(overview_table(at), HasSubstr("1 watch on 1 symbol, 0 in force on 2027-01-01\n"));
  Watch coming = settings.watches[2];
  coming.from = Date::of(2027, 12, 31);
  settings.watches = WatchList();
  settings.watches.push_back(coming);
  at.only.clear();
  EXPECT_THAT(overview_table(at), HasSubstr("from 2027-12-31\n"));
  EXPECT_THAT(overview_table(at), HasSubstr("1 watch on 1 symbol, 0 in force"));
  at.today = Date::of(2028, 1, 3);
  EXPECT_THAT(overview_table(at), testing::Not(HasSubstr("from 2027")));
}

TEST_F(OverviewOf, a_program_gets_one_object_a_line) {
  EXPECT_EQ(overview_json(overview({"ORRI"})),
            "{\"symbol\":\"ORRI\",\"pivot\":112.50,\"range_top\":118.12,\"rearm_level\":111.37,\"slip_level\":111.37,"
            "\"loss_limit\":103.50,"
            "\"tick_size\":0.01,\"needed_surge\":40,\"normal_volume\":641234,\"normal_volume_from\":\"history\",\"normal_"
            "volume_days\":50,"
            "\"normal_volume_to\":\"2026-11-24\",\"feed_ratio\":null,\"from\":null,\"until\":null,\"calendar\":\"XTSE\","
            "\"tape\":\"cts\","
            "\"note\":\"a \\\"b\\\"\",\"file\":\"" +
                folder.path("main.toml") + "\",\"line\":20}\n");
}

TEST_F(OverviewOf, the_rules_are_told_in_words) {
  EXPECT_THAT(explanation(overview({"TAMBU"})),
              testing::StartsWith("TAMBU, pivot 7.125\n"
                                  "  - crossed: a trade at or above 7.125 after the price was under it. At most 3 a\n"
                                  "    day; the next one counts as soon as the price has been under the pivot.\n"
                                  "  - left-range: above 7.48 (pivot + 5 %, cut down to a tick of 0.01) the price\n"
                                  "    has run out of the buy range; back-inside when it returns. If the day opens\n"
                                  "    above it: opened-over, no crossing.\n"
                                  "  - fell-under: at or under 7.05 (pivot - 1 %), the breakout did not hold.\n"
                                  "    loss-limit: at or under 6.55 (pivot - 8 %), once.\n"
                                  "  - Volume cannot be judged: no normal volume is known (history/TAMBU.csv: no\n"
                                  "    such file). Give normal_volume, or daily bars in [history].\n"
                                  "  - Bad prints: every trade is believed at once.\n"
                                  "\nMarket: up, as you set it\n"));
}

TEST_F(OverviewOf, confirmation_channels_and_feeds_are_explained) {
  const std::string text = explanation(overview());
  EXPECT_THAT(text, HasSubstr("2 trades in a row at or above 112.50"));
  EXPECT_THAT(text, HasSubstr("once it has stayed"));
  EXPECT_THAT(text, HasSubstr("Carries crossed; only with volume judged heavy."));
  EXPECT_THAT(text, HasSubstr("Quiet from 22:00 to 07:00 (this machine's time)"));
  EXPECT_THAT(text, HasSubstr("Information, not advice."));
}

}  // namespace
}  // namespace brimwatch
