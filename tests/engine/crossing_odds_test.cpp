// The odds at a crossing and after it: how old the high is, from daily bars and from the watch's own days; how the volume
// that comes with it fades; an opening print that was not heard; a feed whose part of the tape cannot be told.
#include <cmath>

#include "engine/judge.h"
#include "small_engine.h"
#include "volume/old_high.h"

namespace brimwatch {
namespace {

class CrossingOdds : public SmallEngine {
 protected:
  /// Fifty daily highs under the pivot, the newest so many sessions before yesterday's.
  void know_highs(int behind = 0) {
    auto highs = std::make_shared<RecentHighs>();
    highs->high.fill(*parse_price("40"));
    highs->count = 50, highs->behind = behind;
    change_plan_ = [highs](DayPlan& plan) { plan.highs = highs; };
  }
  Tick trade_at(double minute, const char* price, std::int64_t size = 3000, int days = 0) {
    Tick one = trade(price, size);
    one.time = at(static_cast<Nanos>(minute * static_cast<double>(kMinute)) + days * kDayNanos);
    return one;
  }
  /// A morning under the pivot and a crossing at minute 30, then what is seen at a later minute.
  VolumeView crossing_and(double later) {
    watch("KLVN", "50");
    begin();
    for (int minute = 1; minute < 30; ++minute) give(trade_at(minute, "49.50"));
    give(trade_at(30, "50.10"));
    EXPECT_EQ(sink_.notices.size(), 1U);
    return engine_->view(0, at(static_cast<Nanos>(later * static_cast<double>(kMinute)))).volume;
  }
};

TEST_F(CrossingOdds, AnOldHighRaisesVolumeIntervalAndOdds) {
  (void)crossing_and(30);
  const VolumeView plain = sink_.notices.at(0).volume;
  sink_.notices.clear(), watches_.clear(), seconds_ = 60;
  know_highs();
  engine_ = make_engine();
  (void)crossing_and(30);
  const VolumeView lifted = sink_.notices.at(0).volume;
  EXPECT_EQ(plain.so_far, lifted.so_far);
  const double left = 1 - default_curve().at(30);
  EXPECT_NEAR((lifted.projected - lifted.so_far.as_double()) / (plain.projected - plain.so_far.as_double()),
              1 + .06 / left, 1e-9);
  EXPECT_GT(lifted.low, plain.low);
  EXPECT_GT(lifted.high, plain.high);
  EXPECT_GT(lifted.odds, plain.odds);
}

TEST_F(CrossingOdds, WhatOwnCrossingsTaughtMovesItEitherWayAndIsKept) {
  (void)crossing_and(30);
  const VolumeView plain = sink_.notices.at(0).volume;
  EXPECT_EQ(plain.minutes, 30);
  EXPECT_EQ(plain.lift, 0);
  for (const double own : {.03, -.03}) {
    sink_.notices.clear(), watches_.clear(), seconds_ = 60;
    change_plan_ = [own](DayPlan& plan) { plan.own_lift = own; };
    engine_ = make_engine();
    const VolumeView later = crossing_and(31), moved = sink_.notices.at(0).volume;
    EXPECT_EQ(moved.lift, own);
    EXPECT_EQ(moved.own_lift, own);
    EXPECT_EQ(moved.projected > plain.projected, own > 0);
    EXPECT_EQ(moved.odds > plain.odds, own > 0);
    EXPECT_EQ(later.lift, own) << "the watch is judged apart from those that were not crossed";
  }
}

TEST_F(CrossingOdds, WhatIsSeenLaterFades) {
  know_highs();
  const double at_once = crossing_and(30).odds;
  EXPECT_NEAR(at_once, sink_.notices.at(0).volume.odds, 1e-12) << "no jump between the notice and what is seen then";
  const auto at_minute = [&](double minute) {
    return engine_->view(0, at(static_cast<Nanos>(minute * static_cast<double>(kMinute)))).volume.projected;
  };
  const double known = at_minute(90.5), before = at_minute(90);
  EXPECT_LT(known, before) << "the pace";
  EXPECT_NEAR(known / before, at_minute(91) / known, 2e-3) << "and no step where the last of it ends";
}

TEST_F(CrossingOdds, ARestartKnowsWhenItWasReached) {
  know_highs();
  (void)crossing_and(30);
  const auto odds_at_33 = [&] {
    give(trade_at(33, "50.20", 1));
    return engine_->view(0, at(33 * kMinute)).volume.odds;
  };
  const double before = odds_at_33();
  restart();
  EXPECT_NEAR(odds_at_33(), before, 1e-3);
}

TEST_F(CrossingOdds, WithoutDailyBarsTwoQuietSessionsAreAsked) {
  const auto odds_after = [&](int quiet_days) {
    sink_.notices.clear(), watches_.clear(), seconds_ = 60;
    engine_ = make_engine();
    watch("KLVN", "50");
    begin();
    const Session* session = &this->session();
    std::vector<Timestamp> opens;
    for (int i = 0; i <= quiet_days; ++i, session = calendar_->before(session->day)) opens.push_back(session->open);
    for (auto open = opens.rbegin(); open != opens.rend(); ++open) {
      for (int minute = 1; minute < 30; ++minute) {
        Tick one = trade("49.50", 3000);
        one.time = *open + minute * kMinute;
        give(one);
      }
    }
    give(trade_at(30, "50.10"));
    for (const Notice& notice : sink_.notices) {
      if (notice.kind == NoticeKind::crossed) return notice.volume.odds;
    }
    return -1.0;
  };
  const double today = odds_after(0), one = odds_after(1), two = odds_after(2), five = odds_after(5);
  EXPECT_EQ(today, one);
  EXPECT_GT(two, one);
  EXPECT_EQ(two, five);
}

TEST_F(CrossingOdds, ADayThatReachedThePivotMakesItAYoungHigh) {
  know_highs(2);  // the bars end two sessions ago
  watch("KLVN", "50");
  begin();
  for (const int day : {-2, -1}) {
    for (int minute = 1; minute < 30; ++minute) give(trade_at(minute, "49.50", 3000, day));
    if (day == -1) give(trade_at(31, "50.10", 3000, day)), give(trade_at(32, "49.00", 3000, day));
  }
  sink_.notices.clear();
  for (int minute = 1; minute < 30; ++minute) give(trade_at(minute, "49.50"));
  const WatchState state = engine_->watch_states().at(0);
  EXPECT_EQ(state.quiet_since, session().day) << "yesterday it was there";
  EXPECT_FALSE(state.reached.is_set());
  give(trade_at(30, "50.10"));
  EXPECT_EQ(engine_->watch_states().at(0).reached, at(30 * kMinute));
}

TEST_F(CrossingOdds, ACancelledFirstCrossingWasNone) {
  watch("KLVN", "50");
  begin();
  give(trade_at(1, "49.50"));
  Tick crossing = trade_at(30, "50.10");
  give(crossing);
  EXPECT_TRUE(engine_->watch_states().at(0).reached.is_set());
  crossing.kind = TickKind::cancel;
  give(crossing);
  EXPECT_FALSE(engine_->watch_states().at(0).reached.is_set());
}

TEST_F(CrossingOdds, OpenedThereItIsCountedFromTheOpen) {
  watch("KLVN", "50");
  begin();
  give(trade_at(3, "50.10"));
  EXPECT_EQ(engine_->watch_states().at(0).reached, session().open);
}

class OpeningPrint : public CrossingOdds {
 protected:
  double odds(bool others_had_one, bool own) {
    watch("KLVN", "50"), watch("ORRI", "50");
    begin();
    Tick other = trade_at(.1, "49.50");
    other.symbol = orri_;
    if (others_had_one) other.conditions = Conditions::of("O");
    give(other);
    Tick first = trade_at(.2, "49.50", 8000);
    if (own) first.conditions = Conditions::of("O");
    give(first);
    for (int minute = 1; minute < 6; ++minute) give(trade_at(minute, "49.50", 8000));
    give(trade_at(6, "50.10"));
    return sink_.notices.empty() ? -1 : sink_.notices.at(0).volume.odds;
  }
};

TEST_F(OpeningPrint, HeardThereIsNothingToTakeOut) {
  const double heard = odds(true, true);
  sink_.notices.clear(), watches_.clear(), seconds_ = 60, engine_ = make_engine();
  EXPECT_EQ(odds(false, false), heard) << "a feed that tells none is not one that has missed one";
}

TEST_F(OpeningPrint, MissedIsNotExpectedAnyMore) {
  const double heard = odds(true, true);
  sink_.notices.clear(), watches_.clear(), seconds_ = 60, engine_ = make_engine();
  EXPECT_GT(odds(true, false), heard);
}

TEST_F(CrossingOdds, APartThatDiffersTooMuchIsNotJudgedAndSaysWhy) {
  change_plan_ = [](DayPlan& plan) { plan.feed_ratio = .05, plan.feed_ratio_sd = .6, plan.ratio_unsteady = true; };
  EXPECT_EQ(crossing_and(30).why_not, NoJudgement::ratio_unsteady);
  EXPECT_EQ(sink_.notices.at(0).volume.weight, Weight::unknown);
}

/// A twentieth of the tape, give or take a fifth from day to day: what it has counted leaves the whole day in doubt at
/// its end as well (volume model, section on partial feeds: about .5 where the count is just what was wanted).
TEST(DayEnd, OfAPartThatDiffersFromDayToDayIsNoCertainty) {
  DayPlan plan;
  plan.normal = 1e6, plan.prior = std::log(1e6);
  DayVolume day;
  const auto odds_of = [&](double shares) {
    day.so_far = Shares::whole(static_cast<std::int64_t>(shares));
    return judge_final(plan, day, 0, {}).odds;
  };
  EXPECT_EQ(odds_of(1.39e6), 0) << "a whole tape's count is certain";
  EXPECT_EQ(odds_of(1.41e6), 1);
  plan.feed_ratio = .05, plan.feed_ratio_sd = .2;
  EXPECT_NEAR(odds_of(1.41e6), .45, .1);
  EXPECT_GT(odds_of(2.5e6), .97);
  EXPECT_LT(odds_of(0.9e6), .05);
  EXPECT_LT(judge_final(plan, day, 0, {}).low, judge_final(plan, day, 0, {}).high);
}

}  // namespace
}  // namespace brimwatch
