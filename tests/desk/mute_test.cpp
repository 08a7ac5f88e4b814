// Each cause that would keep a watch from telling, and that a watch without any has none.
#include "desk/mute.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

constexpr Date kMuteDay = Date::of(2026, 11, 25);

class Mute : public testing::Test {
 protected:
  Mute() {
    watch_.symbol = "KLVN";
    watch_.pivot = Price{48'350'000};
    set_levels(watch_);
  }

  std::vector<std::string> causes() {
    MuteFacts facts{.watch = watch_, .settings = settings_, .day = kMuteDay};
    facts.session = calendar_->on(kMuteDay);
    facts.trend = trend_;
    facts.knows_normal = knows_normal_;
    facts.index_too_old = old_index_;
    facts.index_doubtful = doubtful_index_;
    facts.stands = stands_ ? &*stands_ : nullptr;
    facts.now = now_;
    std::vector<std::string> out;
    for (const MuteCause& cause : mute_causes(facts)) out.push_back((cause.no_crossing ? "! " : "") + to_string(cause));
    return out;
  }

  WatchView& stands() {
    if (!stands_) {
      stands_.emplace();
      stands_->last_time = now_ = calendar_->on(kMuteDay)->open + kHour;
    }
    return *stands_;
  }

  std::shared_ptr<const Calendar> calendar_ = Calendar::load("XNYS", {}).value();
  Watch watch_;
  Settings settings_;
  Trend trend_ = Trend::up;
  bool knows_normal_ = true, old_index_ = false, doubtful_index_ = false;
  std::optional<WatchView> stands_;
  Timestamp now_;
};

TEST_F(Mute, nothing_keeps_a_plain_watch) {
  EXPECT_THAT(causes(), IsEmpty());
  (void)stands();
  EXPECT_THAT(causes(), IsEmpty());
}

TEST_F(Mute, its_days) {
  watch_.from = kMuteDay + 1;
  EXPECT_THAT(causes(), ElementsAre("! not in force (from 2026-11-26 on)"));
  watch_.from.reset();
  watch_.until = kMuteDay + -1;
  EXPECT_THAT(causes(), ElementsAre("! not in force (it was until 2026-11-24)"));
}

TEST_F(Mute, the_market) {
  trend_ = Trend::down;
  EXPECT_THAT(causes(), IsEmpty()) << "marked, and told";
  settings_.market.when_down = WhenDown::hold_back;
  EXPECT_THAT(causes(), ElementsAre("! held back while the market is down"));
  trend_ = Trend::unknown;
  old_index_ = true;
  EXPECT_THAT(causes(), ElementsAre("the market's trend is not known: the index's bars are too old"));
  doubtful_index_ = true;
  EXPECT_THAT(causes(), ElementsAre("the market's trend is not known: the index's bars are doubtful"));
}

TEST_F(Mute, the_channels) {
  ChannelSettings mail;
  mail.kinds = {NoticeKind::day_end};
  settings_.channels = {mail};
  EXPECT_THAT(causes(), ElementsAre("! no channel carries crossings"));
  settings_.channels[0].kinds = {};
  settings_.channels[0].weights = {Weight::heavy};
  EXPECT_THAT(causes(), IsEmpty());
  knows_normal_ = false;
  EXPECT_THAT(causes(), ElementsAre("! no channel carries a crossing whose volume is not judged",
                                    "its volume is not judged: no normal volume is known"));
}

TEST_F(Mute, where_it_stands) {
  stands().silent = true;
  stands().crossings = 3;
  stands().halted = true;
  stands().held = Price{55'000'000};
  EXPECT_THAT(causes(),
              ElementsAre("! quiet today: the price looks like a split", "! per_day is used up (3 crossings, told are 3)",
                          "! halted", "a price waits until the tape agrees (55.00)"));
}

TEST_F(Mute, a_stock_that_nobody_hears) {
  stands().last_time = {};
  EXPECT_THAT(causes(), ElementsAre("! no trade of it was heard today"));
  now_ = calendar_->on(kMuteDay)->open + 10 * kMinute;
  EXPECT_THAT(causes(), IsEmpty()) << "a quiet stock may not have traded yet";
}

TEST_F(Mute, levels_and_the_rules_of_a_crossing) {
  watch_.pivot = Price{48'355'000};
  watch_.rules.range = 500'000;
  watch_.rules.least_size = 500;
  watch_.rules.confirm_seconds = 900;
  set_levels(watch_);
  EXPECT_THAT(causes(),
              ElementsAre("its pivot lies between two ticks (crossed from 48.36 on)",
                          "its range is narrower than slip (it is left above 48.59, and fell-under comes at 47.87)",
                          "small prints cross nothing (under 500 shares)", "its crossing waits to be confirmed (900 s)"));
}

TEST(MuteList, names_each_cause_once) {
  MuteList list;
  const MuteCause until{MuteCause::About::days, "not in force", "it was until 2026-11-24", true};
  const MuteCause from{MuteCause::About::days, "not in force", "from 2026-11-26 on", true};
  for (const char* symbol : {"KLVN", "KLVN", "NIVO", "ORRJ", "TAMB"}) list.add(symbol, until);
  list.add("LOSJ", from);
  ASSERT_EQ(list.lines().size(), 1U);
  EXPECT_EQ(list.lines()[0].names(), "KLVN, NIVO, ORRJ and 2 more");
  EXPECT_EQ(to_string(list.lines()[0].cause), "not in force") << "not the same day for all";
}

}  // namespace
}  // namespace brimwatch
