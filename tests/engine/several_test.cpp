// Several watches of one symbol, each with rules of its own; and lists that change under the engine.
#include <gmock/gmock.h>

#include <map>

#include "small_engine.h"

namespace brimwatch {
namespace {

using testing::IsEmpty;

class Several : public SmallEngine {
 protected:
  /// The newest notice of that kind, by watch.
  std::map<std::uint32_t, Notice> told(NoticeKind kind) const {
    std::map<std::uint32_t, Notice> found;
    for (const Notice& notice : sink_.notices)
      if (notice.kind == kind) found[notice.watch] = notice;
    return found;
  }
};

TEST_F(Several, AreJudgedEachByItsOwnNormalVolumeAndRules) {
  watch("KLVN", "50", 1'000'000);
  watch("KLVN", "50.10", 50'000);
  watch("KLVN", "50.20", 1'000'000).rules.surge = 900'000'000;  // 900 %: never
  watch("KLVN", "50.30", 1'000'000).rules.odds_heavy = 0;       // whatever the odds
  watch("KLVN", "50.40", 1'000'000).rules.odds_light = 0.97;
  watch("KLVN", "50.50", 1'000'000);  // as the first
  begin();
  give(trade("49.50", 20'000));
  give(trade("50.60", 20'000));
  const auto crossed = told(NoticeKind::crossed);
  ASSERT_EQ(crossed.size(), 6U);
  EXPECT_EQ(crossed.at(0).volume.normal, Shares::whole(1'000'000));
  EXPECT_EQ(crossed.at(1).volume.normal, Shares::whole(50'000));
  EXPECT_EQ(crossed.at(1).volume.weight, Weight::heavy);
  EXPECT_GT(crossed.at(1).volume.odds, crossed.at(0).volume.odds);
  EXPECT_LT(crossed.at(2).volume.odds, crossed.at(0).volume.odds);
  EXPECT_EQ(crossed.at(2).volume.needed, 900);
  EXPECT_EQ(crossed.at(3).volume.weight, Weight::heavy);
  EXPECT_EQ(crossed.at(4).volume.odds, crossed.at(0).volume.odds);
  EXPECT_EQ(crossed.at(5).volume.odds, crossed.at(0).volume.odds);
  for (const auto& [at, notice] : crossed) {
    EXPECT_LT(notice.volume.low, notice.volume.projected) << at;
    EXPECT_LT(notice.volume.projected, notice.volume.high) << at;
  }
  EXPECT_EQ(crossed.at(5).volume.weight, crossed.at(0).volume.weight);
}

TEST_F(Several, AreGuardedByTheStrictestAndAGuardOfNoneAddsNone) {
  watch("KLVN", "50").rules.bad_print = 0;
  watch("KLVN", "60").rules.bad_print = 30'000'000;
  watch("KLVN", "70").rules.bad_print = 10'000'000;
  watch("KLVN", "80").rules.bad_print = 20'000'000;
  watch("KLVN", "90").rules.bad_print = 0;
  watch("ORRI", "50").rules.bad_print = 0;
  begin();
  give(trade("49.50"));
  give(trade("56"));  // 13 % up: waits for a second one
  EXPECT_THAT(sink_.notices, IsEmpty());
  Tick orri = trade("49.50");
  orri.symbol = orri_;
  give(orri);
  orri = trade("65");
  orri.symbol = orri_;
  give(orri);
  EXPECT_EQ(told(NoticeKind::crossed).count(5), 1U) << "ORRI has no guard";
  sink_.notices.clear();
  give(trade("56.10"));
  EXPECT_EQ(told(NoticeKind::crossed).count(0), 1U) << "two that agree";
}

// The odds of the two are the same; what is asked of them is not.
TEST_F(Several, WaitForTheVolumeEachAtItsOwnOdds) {
  watch("KLVN", "50").rules.odds_heavy = 0.55;
  watch("KLVN", "50.10").rules.odds_heavy = 0.9999;
  begin();
  give(trade("49.50", 2000));
  give(trade("50.20", 2000));
  for (int minute = 5; minute <= 60 && told(NoticeKind::volume_arrived).empty(); ++minute) {
    seconds_ = minute * 60;
    give(trade("50.20", 12'000));
  }
  const auto arrived = told(NoticeKind::volume_arrived);
  ASSERT_EQ(arrived.size(), 1U);
  ASSERT_EQ(arrived.begin()->first, 0U);
  EXPECT_GE(arrived.at(0).volume.odds, 0.55);
  EXPECT_LT(arrived.at(0).volume.odds, 0.9999);
}

// Judged with the crossing at minute 10, with odds near those that it waits for; then nothing grows until the two minutes
// are over.
TEST_F(Several, AreJudgedAgainAfterTwoMinutesNotBefore) {
  const auto give_at = [this](Nanos since_open, const char* price, std::int64_t size) {
    Tick one = trade(price, size);
    one.time = at(since_open);
    give(one);
    return engine_->view(0, one.time).volume.odds;
  };
  const auto play = [&](double odds_heavy, double odds_light) {
    watches_.clear(), sink_.notices.clear();
    engine_ = make_engine();
    Watch& one = watch("KLVN", "50");
    one.rules.odds_heavy = odds_heavy, one.rules.odds_light = odds_light;
    begin();
    give_at(5 * kMinute, "49.50", 200'000);
    const double odds = give_at(10 * kMinute, "50.20", 200'000);
    EXPECT_EQ(told(NoticeKind::crossed).at(0).volume.weight, Weight::heavy);
    return odds;
  };
  const double at_first = play(0.6, 0);
  const double later = give_at(12 * kMinute, "50.20", 1);
  ASSERT_LT(later, at_first - 0.001);
  play(at_first, (at_first + later) / 2);
  give_at(12 * kMinute - 1, "50.20", 1);
  EXPECT_TRUE(told(NoticeKind::volume_faded).empty());
  give_at(12 * kMinute, "50.20", 1);
  const auto faded = told(NoticeKind::volume_faded);
  ASSERT_EQ(faded.size(), 1U);
  EXPECT_EQ(faded.begin()->second.time, at(12 * kMinute));
}

TEST_F(Several, KeepTheirStateByPivotWhenTheListChanges) {
  for (const char* pivot : {"47", "48", "52", "53"}) watch("KLVN", pivot);
  begin();
  give(trade("46.80"));
  give(trade("48.50"));
  EXPECT_EQ(view(0).side, Side::inside);
  EXPECT_EQ(view(1).side, Side::inside);
  EXPECT_EQ(view(2).side, Side::under);
  watches_.clear();
  for (const char* pivot : {"53", "48", "46.50", "52.50"}) watch("KLVN", pivot);
  begin();
  EXPECT_EQ(view(0).side, Side::under);
  EXPECT_EQ(view(1).side, Side::inside);
  EXPECT_EQ(view(2).side, Side::unknown) << "new";
  EXPECT_EQ(view(3).side, Side::unknown) << "new";
  const std::size_t before = sink_.notices.size();
  give(trade("48.60"));
  const auto crossed = told(NoticeKind::crossed);
  EXPECT_EQ(sink_.notices.size(), before + 1) << "the new one under the price; the old ones have had theirs";
  EXPECT_EQ(sink_.notices.back().watch, 2U);
}

TEST_F(Several, AreHandedOutThoughTheListChangedInBetween) {
  watch("KLVN", "50"), watch("KLVN", "60");
  begin();
  give(trade("49.50"));
  std::vector<WatchState> changed;
  std::vector<SymbolState> symbols;
  engine_->take_changed(changed, symbols);
  give(trade("50.10"));
  begin();
  changed.clear();
  engine_->take_changed(changed, symbols);
  ASSERT_EQ(changed.size(), 1U);
  EXPECT_EQ(changed[0].pivot, *parse_price("50"));
  EXPECT_EQ(changed[0].side, Side::inside);
}

TEST_F(Several, AreHandedOutInPartsTheOldestChangeFirst) {
  for (const char* symbol : {"KLVN", "ORRI", "TAVO"}) watch(symbol, "50"), watch(symbol, "60");
  begin();
  const auto give_to = [&](const char* symbol, const char* price) {
    Tick made = trade(price);
    made.symbol = symbols_.find(symbol);
    give(made);
  };
  for (const char* symbol : {"ORRI", "KLVN", "TAVO"}) give_to(symbol, "49.50");
  std::vector<WatchState> watches;
  std::vector<SymbolState> symbols;
  engine_->take_changed(watches, symbols);
  EXPECT_EQ(engine_->changed(), 0U);
  for (const char* symbol : {"TAVO", "KLVN", "ORRI"}) give_to(symbol, "49.60");
  EXPECT_EQ(engine_->changed(), 3U);
  symbols.clear(), watches.clear();
  EXPECT_FALSE(engine_->take_part_of_changed(1, watches, symbols));
  give_to("TAVO", "50.10");  // again, and crosses
  engine_->add_changed_of(symbols_.find("TAVO"), watches, symbols);
  EXPECT_FALSE(engine_->take_part_of_changed(1, watches, symbols));
  EXPECT_TRUE(engine_->take_part_of_changed(1, watches, symbols)) << "what has changed since then is of the next round";
  std::vector<std::string> names;
  for (const SymbolState& state : symbols) names.push_back(state.symbol);
  EXPECT_THAT(names, testing::ElementsAre("TAVO", "TAVO", "KLVN", "ORRI"));
  ASSERT_EQ(watches.size(), 1U);
  EXPECT_EQ(watches[0].side, Side::inside);
  symbols.clear(), watches.clear();
  EXPECT_TRUE(engine_->take_part_of_changed(9, watches, symbols));
  ASSERT_EQ(symbols.size(), 1U) << "a copy for a notice takes nothing away";
  EXPECT_EQ(symbols[0].symbol, "TAVO");
  EXPECT_EQ(watches.size(), 1U);
  EXPECT_EQ(engine_->changed(), 0U);
}

// "It was never inside the range today" is said only where that was seen.
TEST_F(Several, FoundOverTheRangeSayWhatWasSeenOfTheDay) {
  watch("KLVN", "60");
  begin();
  give(trade("48.40"));
  watches_.clear();
  watch("KLVN", "46");  // its range ends at 48.30
  begin();
  give(trade("48.60"));
  watches_.clear();
  watch("KLVN", "46.50");  // 48.82
  begin();
  give(trade("49.50"));
  Tick hole;
  hole.kind = TickKind::hole;
  hole.time = at(0), hole.received = at(kHour);
  give(hole);
  watches_.clear();
  watch("KLVN", "45");  // 47.25
  begin();
  seconds_ = 2 * 3600;
  give(trade("49.60"));
  std::vector<std::string> details;
  for (const Notice& notice : sink_.notices) {
    EXPECT_EQ(notice.kind, NoticeKind::opened_over);
    details.push_back(notice.detail);
  }
  EXPECT_THAT(details, testing::ElementsAre("", kEarlierInside, kEarlierUnseen));
}

TEST_F(Several, OfAPartOfTheTapeThatIsNotKnownAreToldUnjudged) {
  change_plan_ = [](DayPlan& plan) { plan.ratio_unknown = true; };
  watch("KLVN", "50");
  begin();
  give(trade("49.50", 100'000));
  give(trade("50.10", 900'000));
  for (int minute = 5; minute < 200; minute += 5) {
    seconds_ = minute * 60;
    give(trade("50.20", 100'000));
  }
  ASSERT_EQ(sink_.notices.size(), 1U) << "no volume-arrived: nobody knows";
  EXPECT_EQ(sink_.notices[0].kind, NoticeKind::crossed);
  EXPECT_EQ(sink_.notices[0].volume.why_not, NoJudgement::ratio_unknown);
  EXPECT_EQ(sink_.notices[0].volume.weight, Weight::unknown);
  EXPECT_EQ(sink_.notices[0].volume.odds, 0);
  engine_->on_time(session().close + 11 * kMinute, sink_);
  ASSERT_EQ(sink_.notices.size(), 2U);
  EXPECT_EQ(sink_.notices[1].kind, NoticeKind::day_end);
  EXPECT_EQ(sink_.notices[1].volume.why_not, NoJudgement::ratio_unknown);
  EXPECT_EQ(sink_.notices[1].volume.weight, Weight::unknown);
}

// London's day is over four and a half hours before New York's (LSE 8:00 to 16:30, NYSE 9:30 to 16:00 local time).
TEST_F(Several, OfTwoExchangesEndTheirDayEachInItsOwnTime) {
  watch("KLVN", "50"), watch("ORRI", "50");
  for (Watch& one : watches_) set_levels(one);
  engine_->set_watches(watches_, {calendar_, *Calendar::load("XLON", {})});
  klvn_ = symbols_.find("KLVN"), orri_ = symbols_.find("ORRI");
  for (const char* price : {"49.50", "50.10"}) {
    Tick one = trade(price);
    give(one);
    one.symbol = orri_;
    give(one);
  }
  ASSERT_EQ(sink_.notices.size(), 2U);
  const Timestamp london_ends = session().open + 2 * kHour + 10 * kMinute;
  engine_->on_time(london_ends - kSecond, sink_);
  EXPECT_THAT(sink_.days, IsEmpty());
  engine_->on_time(london_ends, sink_);
  ASSERT_EQ(sink_.days.size(), 1U);
  EXPECT_EQ(sink_.days[0].symbol, "ORRI");
  Tick next = trade("51");
  next.time = session().close - kSecond;
  give(next);
  engine_->on_time(session().close + 10 * kMinute, sink_);
  ASSERT_EQ(sink_.days.size(), 2U);
  EXPECT_EQ(sink_.days[1].symbol, "KLVN");
  EXPECT_EQ(sink_.days[1].close, *parse_price("51"));
  engine_->on_time(session().close + 20 * kHour, sink_);
  EXPECT_EQ(sink_.days.size(), 2U) << "each once";
}

TEST_F(Several, StartAndEndByDate) {
  watch("KLVN", "50").until = Date::of(2026, 11, 24);
  watch("KLVN", "50.10").from = Date::of(2026, 11, 26);
  watch("KLVN", "50.20").from = Date::of(2026, 11, 25);
  watch("KLVN", "50.30").until = Date::of(2026, 11, 25);
  begin();
  give(trade("49.50"));
  give(trade("50.40"));
  const auto crossed = told(NoticeKind::crossed);
  EXPECT_EQ(crossed.size(), 2U);
  EXPECT_TRUE(crossed.contains(2) && crossed.contains(3));
  Tick halt = tick(TickKind::status);
  halt.status = TradingStatus::halted;
  give(halt);
  EXPECT_EQ(told(NoticeKind::halted).size(), 1U) << "once a symbol";
  // The crossing's trade is taken back: of the same two.
  Tick cancel = tick(TickKind::cancel, "50.40");
  cancel.id = sink_.notices[0].trade_id;
  give(cancel);
  EXPECT_EQ(told(NoticeKind::corrected).size(), 2U);
}

// Of a watch that another machine hands over: the trade that it waits by was heard there alone.
TEST_F(Several, AWatchThatWaitsGoesOnWaitingByTheTradeThatAnotherEngineHeard) {
  watch("KLVN", "50").rules.confirm_seconds = 20;
  begin();
  give(trade("49.50"));
  const auto heard_here = engine_->symbol_states();
  const Tick over = trade("50.10");
  give(over);
  const auto waits = engine_->watch_states();
  engine_ = make_engine();
  begin();
  engine_->restore({}, heard_here);
  engine_->restore(waits, {});
  sink_.notices.clear();
  seconds_ += 30;
  give(trade("49.60"));
  ASSERT_EQ(told(NoticeKind::crossed).size(), 1U);
  EXPECT_EQ(told(NoticeKind::crossed).at(0).time, over.time + 20 * kSecond);
  EXPECT_EQ(told(NoticeKind::crossed).at(0).price, *parse_price("50.10"));
}

}  // namespace
}  // namespace brimwatch
