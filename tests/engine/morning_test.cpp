// What a day begins with: the last close, which may be an old one, and prices that stand to it as in a split.
#include <gmock/gmock.h>

#include "engine/day_clock.h"
#include "small_engine.h"

namespace brimwatch {
namespace {

class Morning : public SmallEngine {
 protected:
  void know_close(double close, bool is_old) {
    change_plan_ = [=](DayPlan& plan) {
      plan.previous_close = close, plan.close_is_old = is_old;
      plan.daily_sd = 0.02;
    };
  }
  void give_at(const char* price, Nanos shift) {
    Tick one = trade(price);
    one.time = one.time + shift;
    give(one);
  }
  /// What was said last of a price that looks like a split; empty: nothing was.
  std::string doubt() const {
    std::string out;
    for (const Notice& notice : sink_.notices)
      if (notice.kind == NoticeKind::self_check) out = notice.detail;
    return out;
  }
  /// Odds at a crossing one minute after the open.
  double odds_at_crossing() {
    watch("KLVN", "50");
    begin();
    give(trade("49.90", 2000));
    give(trade("50.10", 2000));
    EXPECT_EQ(sink_.notices.size(), 1U);
    return sink_.notices.empty() ? -1 : sink_.notices[0].volume.odds;
  }
};

// Days that open with a gap are heavy ones (volume-model.md); a stock that has risen by an eighth in three weeks has
// none.
TEST_F(Morning, AnOldCloseTellsNoGap) {
  know_close(44, true);
  const double old = odds_at_crossing();
  EXPECT_LT(old, 0.4);
}

TEST_F(Morning, YesterdaysCloseTellsTheGap) {
  know_close(44, false);
  EXPECT_GT(odds_at_crossing(), 0.6);
}

// The gap is the day's, also for a process that comes after the open.
TEST_F(Morning, ARestartKnowsTheGap) {
  know_close(44, false);
  watch("KLVN", "50");
  begin();
  give(trade("49.90", 2000));
  restart();
  give(trade("50.10", 2000));
  ASSERT_EQ(sink_.notices.size(), 1U);
  EXPECT_GT(sink_.notices[0].volume.odds, 0.6);
}

// A computer that was off over the close: the day is ended by the next one's clock, traded or not.
TEST_F(Morning, ADayThatWasCutOffIsEndedTheNextDay) {
  watch("KLVN", "50");
  begin();
  give(trade("49.90"));
  give(trade("50.10"));
  restart();
  sink_.notices.clear();
  engine_->on_time(session().open + kDayNanos, sink_);  // a holiday
  ASSERT_EQ(sink_.notices.size(), 1U);
  EXPECT_EQ(sink_.notices[0].kind, NoticeKind::day_end);
  EXPECT_EQ(sink_.notices[0].day, session().day);
  EXPECT_EQ(sink_.days.size(), 1U);
}

// What the print guard held at the close waits for nothing any more.
TEST_F(Morning, APriceThatWasHeldAtTheCloseIsHeldNoLonger) {
  watch("KLVN", "50");
  begin();
  give(trade("49.90"));
  give(trade("99.90"));
  ASSERT_TRUE(engine_->symbol_states().at(0).held.price.is_set());
  engine_->on_time(session().close + kDayEndAfter, sink_);
  EXPECT_FALSE(engine_->symbol_states().at(0).held.price.is_set());
  EXPECT_EQ(engine_->counters().held_as_bad, 1U);
}

TEST_F(Morning, WithoutACloseThereIsNoGapEither) {
  know_close(0, false);
  EXPECT_LT(odds_at_crossing(), 0.4);
}

// A file of daily bars may hold anything. Nothing trades at a thousand million.
TEST_F(Morning, ACloseThatCannotBeIsNone) {
  know_close(1e9, false);
  EXPECT_LT(odds_at_crossing(), 0.4);
}

struct Split {
  int ratio;
  bool reverse;
};
void PrintTo(const Split& split, std::ostream* out) { *out << split.ratio << (split.reverse ? " to 1" : " for 1"); }

class Splits : public Morning, public testing::WithParamInterface<Split> {
 protected:
  Tick print(double price, Nanos shift) {
    Tick one = trade("1");
    one.price = Price{std::llround(price * 100) * 10'000};
    one.time = one.time + shift;
    return one;
  }
};

// Common practice: forward splits of many a ratio, 20:1 among them; consolidations that bring a price up.
// Who may hold the stock hears what there is to say, with the doubt; a watch that never crossed says nothing.
TEST_P(Splits, SilenceNobodyWhoMayHoldTheStock) {
  const int ratio = GetParam().ratio;
  const double factor = GetParam().reverse ? ratio : 1.0 / ratio;
  know_close(490, false);
  watch("KLVN", "500"), watch("KLVN", "700");
  begin();
  give(print(499, -kDayNanos));
  give(print(505, -kDayNanos));  // crossed yesterday: the loss limit is pending
  ASSERT_EQ(sink_.notices.size(), 1U);
  sink_.notices.clear();
  for (const double price : {506.0, 511.0, 480.0}) give(print(price * factor, 0));
  std::erase_if(sink_.notices, [](const Notice& notice) { return notice.kind == NoticeKind::day_end; });  // yesterday's
  ASSERT_EQ(sink_.notices.size(), 3U);
  for (const Notice& notice : sink_.notices) {
    EXPECT_TRUE(notice.doubtful);
    const bool is_doubt = notice.kind == NoticeKind::self_check;
    // Common practice: the new shares first, 1:10 for a consolidation.
    const std::string name = GetParam().reverse ? "1:" + std::to_string(ratio) : std::to_string(ratio) + ":1";
    if (is_doubt)
      EXPECT_THAT(notice.detail,
                  testing::AllOf(testing::HasSubstr("looks like a split (" + name + ")"),
                                 testing::HasSubstr("`brimwatch history split KLVN " + name + " --take`")));
    else EXPECT_EQ(notice.kind, GetParam().reverse ? NoticeKind::left_range : NoticeKind::loss_limit);
    EXPECT_TRUE(is_doubt || notice.watch == 0) << "only the one that had crossed";
  }
  sink_.notices.clear();
  // The next session, after a holiday; nobody has mended the pivots. What was said is not said again.
  for (const double price : {481.0, 479.0}) give(print(price * factor, 2 * kDayNanos));
  for (const Notice& notice : sink_.notices) {
    EXPECT_NE(notice.kind, NoticeKind::loss_limit);
    EXPECT_NE(notice.kind, NoticeKind::fell_under);
  }
}

// What it would make of the pivot (100 / 2), its range (5 % above) and the loss limit (8 % under), by hand; and what
// writes it.
TEST_F(Morning, ASplitsNoticeNamesTheLevelsThatItWouldMakeAndWhatTakesIt) {
  watch("KLVN", "100");
  begin();
  give_at("98", -kDayNanos);
  for (const char* price : {"49.10", "49.10"}) give_at(price, 0);  // the first is so far off that it waits for a second
  EXPECT_EQ(
      doubt(),
      "price 49.10 against the last close 98.00 looks like a split (2:1); no crossing notices today: check the pivot "
      "and correct it; as a split its pivot 100.00 would be 50.00, range to 52.50, loss limit 46.00; nothing was "
      "changed: `brimwatch history split KLVN 2:1 --take` takes it");
}

// A command that would halve a pivot that somebody has halved already would be a trap.
TEST_F(Morning, APivotThatIsMendedAlreadyIsNotOfferedASecondSplit) {
  watch("KLVN", "50");
  begin();
  give_at("98", -kDayNanos);
  for (const char* price : {"49.10", "49.10"}) give_at(price, 0);
  EXPECT_THAT(doubt(),
              testing::HasSubstr("the pivot 50.00 lies near this price: if it is of new prices, it needs no change"));
  EXPECT_THAT(doubt(), testing::Not(testing::HasSubstr("--take")));
}

// A stock that truly falls by half overnight, and comes back: the next day is as any other.
TEST_F(Morning, AFalseAlarmIsOverTheNextDay) {
  know_close(102, false);
  watch("KLVN", "100");
  begin();
  for (const char* price : {"99", "101"}) give_at(price, -kDayNanos);
  EXPECT_EQ(sink_.notices.size(), 1U);
  for (const char* price : {"51", "51.50", "98", "99", "101", "102"}) give_at(price, 0);
  for (const char* price : {"99", "99.50", "101"}) give_at(price, 2 * kDayNanos);
  std::erase_if(sink_.notices, [](const Notice& notice) { return notice.kind == NoticeKind::day_end; });
  ASSERT_EQ(sink_.notices.size(), 6U);
  const std::array kinds{NoticeKind::crossed, NoticeKind::self_check, NoticeKind::loss_limit,
                         NoticeKind::crossed, NoticeKind::fell_under, NoticeKind::crossed};
  for (std::size_t i = 0; i < kinds.size(); ++i) EXPECT_EQ(sink_.notices[i].kind, kinds[i]) << i;
  EXPECT_TRUE(sink_.notices[2].doubtful);
  EXPECT_EQ(sink_.notices[5].day, Date::of(2026, 11, 27));
  EXPECT_FALSE(sink_.notices[5].doubtful);
}

// What was crossed before the split were other prices; but whether it was one nobody has said, and the stock may be held.
TEST_F(Morning, AfterWhatLooksLikeASplitTheWatchGoesOn) {
  know_close(101, false);
  watch("KLVN", "100");
  begin();
  for (const char* price : {"99", "101", "151", "202"}) give_at(price, -kDayNanos), give_at(price, -kDayNanos);
  for (const char* price : {"101", "102"}) give_at(price, 0);
  ASSERT_FALSE(sink_.notices.empty());
  EXPECT_EQ(sink_.notices.back().kind, NoticeKind::back_inside);
  EXPECT_TRUE(sink_.notices.back().doubtful);
}

TEST_F(Morning, ADayOnWhichNothingWasTradedLeavesNoRecord) {
  watch("KLVN", "50"), watch("ORRI", "50");
  begin();
  Tick halt = tick(TickKind::status);
  halt.status = TradingStatus::halted;
  give(halt);
  Tick orri = trade("49");
  orri.symbol = orri_;
  give(orri);
  engine_->on_time(session().close + 11 * kMinute, sink_);
  ASSERT_EQ(sink_.days.size(), 1U);
  EXPECT_EQ(sink_.days[0].symbol, "ORRI");
}

// The ids of trades are the day's own: one of yesterday's that comes again is another trade.
TEST_F(Morning, BeginsTheIdsOfTradesAnew) {
  watch("KLVN", "50");
  begin();
  Tick before = trade("49.50"), crossing = trade("50.10"), after = trade("50.20"), cancel = crossing;
  for (Tick* one : {&before, &crossing}) one->time = one->time - kDayNanos, give(*one);
  ASSERT_EQ(sink_.notices.size(), 1U);
  after.id = crossing.id;
  give(after);
  EXPECT_EQ(engine_->counters().duplicates, 0U);
  cancel.kind = TickKind::cancel;
  give(cancel);
  for (const Notice& notice : sink_.notices) EXPECT_NE(notice.kind, NoticeKind::corrected) << "of yesterday's crossing";
}

std::vector<Split> all_splits() {
  std::vector<Split> all;
  for (const int ratio : {2, 3, 4, 5, 6, 7, 8, 10, 15, 20, 25, 30, 50}) {
    all.push_back({ratio, false});
    all.push_back({ratio, true});
  }
  return all;
}
INSTANTIATE_TEST_SUITE_P(Ratios, Splits, testing::ValuesIn(all_splits()));

class Halts : public Morning {};

// A halt takes time from the day and does not give it back: what was not traded in it is not to come either.
TEST_F(Halts, LeaveNoTimeAfterTheClose) {
  watch("KLVN", "50");
  begin();
  const auto at_minute = [&](int minute, const char* price, std::int64_t size) {
    Tick one = trade(price, size);
    one.time = at(minute * kMinute);
    give(one);
  };
  for (int minute = 1; minute < 120; ++minute) at_minute(minute, "49.50", 3000);
  Tick halted = tick(TickKind::status);
  halted.status = TradingStatus::halted, halted.time = at(120 * kMinute);
  give(halted);
  Tick resumed = tick(TickKind::status);
  resumed.status = TradingStatus::trading, resumed.time = at(210 * kMinute);
  give(resumed);
  for (int minute = 210; minute < 388; ++minute) at_minute(minute, "49.50", 3000);
  sink_.notices.clear();
  at_minute(388, "50.10", 3000);
  ASSERT_EQ(sink_.notices.size(), 1U);
  const VolumeView& volume = sink_.notices[0].volume;
  const double so_far = volume.so_far.as_double();
  EXPECT_NEAR(so_far, 894'000, 1);
  // Two minutes and the closing auction, which the default curve has at 11 % of a usual day.
  EXPECT_LT(volume.projected, so_far * 1.25);
  EXPECT_GT(volume.projected, so_far * 1.02);
  EXPECT_LT(volume.odds, 0.05);
}

class Healed : public SmallEngine {
 protected:
  /// A heavy day, blind from noon to one; how the source tells of what was missed.
  enum class Tells { nothing_was_missed, not_at_all, with_trades, with_bars, with_snapshots };
  Notice crossing_after(Tells tells) {
    watch("KLVN", "50");
    begin();
    std::int64_t carried = 0;
    for (int minute = 1; minute < 220; ++minute) {
      const bool blind = minute >= 150 && minute < 210;
      carried += 6000;
      if (minute == 150 && tells != Tells::nothing_was_missed) {
        Tick hole;
        hole.kind = TickKind::hole;
        hole.time = at(150 * kMinute), hole.received = at(210 * kMinute);
        give(hole);
      }
      if (blind && tells != Tells::nothing_was_missed) continue;
      Tick one = tick(tells == Tells::with_bars ? TickKind::bar : TickKind::trade, "49.50", 6000);
      one.time = at(minute * kMinute);
      if (tells == Tells::with_bars || tells == Tells::with_trades) one.day_volume = Shares::whole(carried);
      give(one);
      if (tells != Tells::with_snapshots) continue;
      Tick snapshot = tick(TickKind::day, "49.50", 0);
      snapshot.time = at(minute * kMinute), snapshot.day_volume = Shares::whole(carried);
      give(snapshot);
    }
    Tick crossing = trade("50.10", 6000);
    crossing.time = at(221 * kMinute);
    give(crossing);
    EXPECT_EQ(sink_.notices.size(), 1U);
    return sink_.notices.empty() ? Notice{} : sink_.notices.back();
  }
};

TEST_F(Healed, NothingMissed) { EXPECT_EQ(crossing_after(Tells::nothing_was_missed).volume.weight, Weight::heavy); }

TEST_F(Healed, TheDaysVolumeOfTradesIsSpreadOverTheHole) {
  const Notice notice = crossing_after(Tells::with_trades);
  EXPECT_EQ(notice.volume.weight, Weight::heavy);
  EXPECT_EQ(notice.volume.missed_minutes, 0);
  engine_->on_time(session().close + 11 * kMinute, sink_);
  ASSERT_EQ(sink_.days.size(), 1U);
  EXPECT_LT(sink_.days[0].coverage, 0.95) << "nobody knows when it was traded: no day to learn a curve from";
  EXPECT_EQ(sink_.days[0].volume, Shares::whole(219 * 6000 + 6000));
}

TEST_F(Healed, SoIsThatOfBars) { EXPECT_EQ(crossing_after(Tells::with_bars).volume.weight, Weight::heavy); }

TEST_F(Healed, AndThatOfSnapshots) { EXPECT_EQ(crossing_after(Tells::with_snapshots).volume.weight, Weight::heavy); }

TEST_F(Healed, UntoldItStaysAHole) {
  const Notice notice = crossing_after(Tells::not_at_all);
  EXPECT_NEAR(notice.volume.missed_minutes, 60, 1e-9);
  EXPECT_GT(notice.volume.odds, 0.3);
}

}  // namespace
}  // namespace brimwatch
