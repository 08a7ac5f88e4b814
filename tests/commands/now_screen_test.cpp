// The terminal's table at 80 columns and 24 rows, as a person sees it.
#include "commands/now_screen.h"

#include <gtest/gtest.h>

#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

OrderedJson watch(const std::string& symbol, double pivot, OrderedJson last, const std::string& side,
                  const std::string& weight = "light") {
  const bool is_known = last.is_number();
  const double distance = is_known ? (last.get<double>() / pivot - 1) * 100 : 0;
  return {{"symbol", symbol},
          {"pivot", pivot},
          {"last", last},
          {"distance", is_known ? OrderedJson(distance) : OrderedJson(nullptr)},
          {"side", side},
          {"armed", true},
          {"volume",
           {{"so_far", is_known ? 612000 : 0},
            {"surge", is_known ? OrderedJson(78) : OrderedJson(nullptr)},
            {"odds", is_known ? OrderedJson(weight == "heavy" ? 0.9962 : 0.04) : OrderedJson(nullptr)},
            {"weight", weight}}}};
}

OrderedJson snapshot() {
  OrderedJson out{{"time", "2026-11-25T10:42:07-05:00"},
                  {"day", "2026-11-25"},
                  {"session", "open"},
                  {"trend", "up"},
                  {"rehearsal", false},
                  {"journal_trouble", ""}};
  out["feeds"] = OrderedJson::array(
      {{{"name", "main"}, {"state", "up"}, {"text", "12 symbols"}, {"carrying", true}, {"lag_seconds", 0.4}}});
  out["watches"] = OrderedJson::array(
      {watch("ORRI", 112.5, 110.1, "under"), watch("KLVN", 48.35, 48.41, "inside", "heavy"),
       watch("NIVO", 0.0512, 0.05105, "inside", "unsettled"), watch("QUELLINGTON", 20, nullptr, "unknown")});
  return out;
}

std::string shown(const std::vector<ScreenLine>& lines) {
  std::string out;
  for (const ScreenLine& line : lines) {
    EXPECT_LE(length_of(line.text), kScreenColumns) << line.text;
    out += line.text + "\n";
  }
  return out;
}

TEST(NowScreen, what_matters_soonest_stands_first) {
  EXPECT_EQ(shown(now_screen(snapshot(), 0)),
            R"(2026-11-25  10:42:07, session open, market up
feed main: up, 12 symbols

symbol        last     pivot to pivot side       volume   surge  odds weight
KLVN         48.41     48.35  +0.12 % inside       612k   +78 % >0.99 heavy
NIVO       0.05105    0.0512  -0.29 % just under   612k   +78 %  0.04 unsettled
ORRI        110.10    112.50  -2.13 % under        612k   +78 %  0.04 light
QUELLIN~         -     20.00        - no trade        0       -     - not heard
)");
}

TEST(NowScreen, a_screen_of_24_rows_is_filled_and_says_how_many_more_there_are) {
  OrderedJson many = snapshot();
  for (int i = 0; i < 40; ++i) many["watches"].push_back(watch("SYM" + std::to_string(i), 20, 19.0 - i * 0.01, "under"));
  const auto lines = now_screen(many, 23);
  ASSERT_EQ(lines.size(), 23U);
  EXPECT_EQ(lines[4].text.substr(0, 4), "KLVN");
  EXPECT_EQ(lines.back().text, "and 26 more: 1 no trade, 25 under");
}

TEST(NowScreen, the_banner_comes_before_everything) {
  OrderedJson blind = snapshot();
  blind["feeds"][0]["carrying"] = false;
  blind["feeds"][0]["state"] = "silent";
  blind["journal_trouble"] = "disk full";
  blind["trend"] = "down";
  const auto lines = now_screen(blind, 23);
  EXPECT_EQ(shown(lines).substr(0, 6), "BLIND:");
  EXPECT_EQ(lines[0].style, Style::warning);
  EXPECT_NE(shown(lines).find("NOT KEPT: notices are sent but not stored: disk full\n"), std::string::npos);
  EXPECT_NE(shown(lines).find("MARKET DOWN: "), std::string::npos);
  OrderedJson refused = snapshot();
  refused["configuration"] = {{"read", "2026-11-25T10:40:12-05:00"}, {"refused", "w.toml:3:9: pivot: found x"}};
  EXPECT_EQ(shown(now_screen(refused, 23)).find("RELOAD REFUSED: the configuration read at 10:40 was refused, "), 0U);
  EXPECT_NE(shown(now_screen(refused, 23)).find("w.toml:3:9: pivot: found x"), std::string::npos);
  OrderedJson late = snapshot();
  late["feeds"][0]["lag_seconds"] = 900;
  EXPECT_EQ(shown(now_screen(late, 0)).substr(0, 37), "DELAYED: prices come 15 min late.\n202");
}

TEST(NowScreen, what_the_configuration_is_warned_of_is_said_where_there_is_room) {
  OrderedJson doubted = snapshot();
  doubted["configuration"] = {{"read", "2026-11-25T10:40:12-05:00"},
                              {"refused", nullptr},
                              {"warnings", {"b.toml:1:2: first", "b.toml:9:2: next"}}};
  EXPECT_NE(
      shown(now_screen(doubted, 0)).find("configuration: b.toml:1:2: first (and 1 more; brimwatch check has all)\n"),
      std::string::npos);
  EXPECT_EQ(shown(now_screen(doubted, 23)).find("configuration:"), std::string::npos);
}

TEST(NowScreen, a_failed_breakout_is_not_one_that_never_came) {
  OrderedJson one = snapshot();
  one["watches"] = OrderedJson::array({watch("KLVN", 48.35, 47.9, "under"), watch("ORRI", 48.35, 47.8, "under")});
  one["watches"][0]["day_high"] = 48.6;
  const std::string text = shown(now_screen(one, 0));
  EXPECT_NE(text.find("-0.93 % fell back"), std::string::npos) << text;
  EXPECT_NE(text.find("-1.14 % under"), std::string::npos) << text;
}

TEST(NowScreen, hostile_words_stay_in_their_line) {
  OrderedJson hostile = snapshot();
  hostile["watches"][0]["symbol"] = "A\nB\x1b[2J";
  hostile["feeds"][0]["text"] = std::string(500, 'x');
  for (const ScreenLine& line : now_screen(hostile, 23)) EXPECT_EQ(line.text.find_first_of("\n\x1b"), std::string::npos);
  (void)shown(now_screen(hostile, 23));
}

}  // namespace
}  // namespace brimwatch
