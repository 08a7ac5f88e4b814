// What decides a notice, of two machines of one house: what differs is said, and nothing else.
#include "config/deciding_rules.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

Watch watch_of(const char* symbol, Price pivot, const Rules& rules) {
  Watch watch;
  watch.symbol = symbol, watch.pivot = pivot, watch.rules = rules, watch.calendar = "XNYS";
  set_levels(watch);
  return watch;
}

std::string names_of(const Settings& settings) {
  std::string text;
  for (std::size_t i = 0; i < settings.watches.size(); ++i)
    text += settings.watches.symbol(i) + " " + to_string(settings.watches.pivot(i)) + "\n";
  return text;
}

struct DecidingRules : testing::Test {
  Settings home, cloud;
  void watch_both(const char* symbol, const Rules& there, const Rules& here) {
    home.watches.push_back(watch_of(symbol, Price{48'350'000}, here));
    cloud.watches.push_back(watch_of(symbol, Price{48'350'000}, there));
  }
  [[nodiscard]] std::vector<std::string> differences() const {
    const std::string list = names_of(home), other = names_of(cloud);
    const std::string rules = deciding_rules_text(home), other_rules = deciding_rules_text(cloud);
    return rule_differences({"on home", list, rules}, {"on cloud", other, other_rules});
  }
};

TEST_F(DecidingRules, that_are_alike_are_no_news) {
  watch_both("KLVN", {}, {});
  Rules of_market;
  of_market.tick_table = TickTable::xnys;  // as the loader finds "market" to be
  watch_both("NIVO", of_market, of_market);
  EXPECT_THAT(deciding_rules_text(home), Not(HasSubstr("NIVO")));
  home.market.index = "/here/index.csv", cloud.market.index = "/there/index.csv";
  EXPECT_THAT(differences(), IsEmpty());
}

TEST_F(DecidingRules, each_that_differs_is_one_line) {
  watch_both("KLVN", {}, {});
  cloud.rules.range = 7'000'000, cloud.rules.surge = 50'500'000;
  home.market.when_down = WhenDown::hold_back, cloud.market.trend = Trend::down;
  cloud.session.extended_volume = true;
  // The watches follow their own [rules], as the loader gives them.
  cloud.watches = {watch_of("KLVN", Price{48'350'000}, cloud.rules)};
  EXPECT_THAT(
      differences(),
      ElementsAre("[market] trend: not set on home, \"down\" on cloud",
                  "[market] when_down: \"hold-back\" on home, \"mark\" on cloud", "[rules] range: 5 on home, 7 on cloud",
                  "[rules] surge: 40 on home, 50.5 on cloud", "[session] extended_volume: false on home, true on cloud"));
}

TEST_F(DecidingRules, of_a_watch_what_is_in_force_counts_wherever_it_is_written) {
  Rules wide;
  wide.range = 7'000'000;
  home.rules = wide;
  watch_both("KLVN", wide, wide);  // on home by [rules], on cloud by its own
  watch_both("NIVO", {}, wide);
  Rules slow;
  slow.confirm_trades = 3;
  watch_both("QUEN", slow, wide);
  EXPECT_THAT(differences(),
              ElementsAre("[rules] range: 7 on home, 5 on cloud", "QUEN 48.35: confirm_trades: 1 on home, 3 on cloud"))
      << "NIVO differs by what is said of [rules] already";
}

TEST_F(DecidingRules, a_normal_volume_and_days_of_its_own_count_too) {
  watch_both("KLVN", {}, {});
  Watch given = watch_of("NIVO", Price{48'350'000}, {});
  cloud.watches.push_back(given);
  given.normal_volume = Shares::whole(1'300'000), given.until = Date::of(2026, 12, 24);
  home.watches.push_back(given);
  EXPECT_THAT(differences(), ElementsAre("NIVO 48.35: normal_volume: 1300000 on home, not set on cloud",
                                         "NIVO 48.35: until: 2026-12-24 on home, not set on cloud"));
}

TEST_F(DecidingRules, a_watch_that_one_of_them_has_alone_is_told_elsewhere) {
  Rules wide;
  wide.range = 7'000'000;
  home.watches.push_back(watch_of("KLVN", Price{48'350'000}, wide));
  EXPECT_THAT(differences(), IsEmpty());
}

TEST_F(DecidingRules, of_many_watches_some_are_named) {
  Rules wide;
  wide.range = 7'000'000;
  for (const char* const symbol : {"KAVN", "KBVN", "KCVN", "KDVN", "KEVN", "KFVN", "KGVN"}) watch_both(symbol, wide, {});
  const std::vector<std::string> lines = differences();
  ASSERT_THAT(lines, SizeIs(6));
  EXPECT_EQ(lines[0], "KAVN 48.35: range: 5 on home, 7 on cloud");
  EXPECT_EQ(lines[5], "and 2 more watches");
}

TEST_F(DecidingRules, what_was_cut_short_is_not_taken_for_another_rule) {
  Rules wide;
  wide.range = 7'000'000;
  for (int i = 0; i < 5'200; ++i) {
    const std::string symbol = "K" + std::to_string(i);
    home.watches.push_back(watch_of(symbol.c_str(), Price{48'350'000}, wide));
    cloud.watches.push_back(watch_of(symbol.c_str(), Price{48'350'000}, i < 100 ? Rules{} : wide));
  }
  EXPECT_LT(deciding_rules_text(home).size(), 500'000U);
  EXPECT_THAT(differences(), Not(testing::Contains(HasSubstr("K51"))));
}

}  // namespace
}  // namespace brimwatch
