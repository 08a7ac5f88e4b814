// Each figure that the house puts into the metrics counts what its help says: something is done so many times, and the
// text is read as a monitoring program reads it. Those of one feed are counted beside it, those of the recorder in
// tests/app; the form of the text is held against the standard in tests/status.
#include <cmath>
#include <sstream>

#include "house_rig.h"
#include "live/ending.h"
#include "status/metrics.h"

namespace brimwatch::simulation {
namespace {

struct MetricsOfHouse : HouseRig {
  /// NaN: there is no such sample.
  double value(const std::string& sample) {
    std::istringstream lines(metrics_text(house->snapshot()));
    for (std::string line; std::getline(lines, line);) {
      if (line.starts_with("brimwatch_" + sample + " ")) return std::stod(line.substr(line.rfind(' ')));
    }
    return std::nan("");
  }
  double of_desk(const std::string& outcome) {
    return value("deliveries_total{channel=\"desk\",outcome=\"" + outcome + "\"}");
  }
};

TEST_F(MetricsOfHouse, TicksAreThoseGivenToTheEngine) {
  EXPECT_EQ(value("ticks_total"), 2) << "from the start";
  trade("KLVN", "19.81");
  --last_id;
  trade("KLVN", "19.81");  // the same print again: the feed's screen leaves it out
  trade("ORRI", "49.60");
  EXPECT_EQ(value("ticks_total"), 4);
}

TEST_F(MetricsOfHouse, NoticesAreThoseToldByKind) {
  const double before = value("notices_total");
  trade("KLVN", "20.10");
  trade("ORRI", "50.10");
  pass(kSecond);
  EXPECT_EQ(value("notices_total"), before + 2);
  EXPECT_EQ(value("notices_of_kind_total{kind=\"crossed\"}"), 2);
  EXPECT_EQ(value("notices_of_kind_total{kind=\"left-range\"}"), 0);
}

TEST_F(MetricsOfHouse, NoticesThatTheJournalCouldNotKeepCountOnceAndItIsNotWellMeanwhile) {
  EXPECT_EQ(value("journal_well"), 1);
  keeper.hangs = true;
  trade("KLVN", "20.10");
  EXPECT_GT(value("journal_waiting"), 0) << "rows";
  pass(kMinute);
  EXPECT_EQ(value("notices_of_kind_total{kind=\"crossed\"}"), 1);
  EXPECT_EQ(value("journal_well"), 0);
  keeper.hangs = false;
  keeper.answer(true);
  pass(kMinute);
  EXPECT_EQ(value("notices_of_kind_total{kind=\"crossed\"}"), 1) << "written now, and told before";
  EXPECT_EQ(value("journal_well"), 1);
  EXPECT_EQ(value("journal_waiting"), 0);
}

TEST_F(MetricsOfHouse, AJournalThatCannotBeOpenedAtTheStartIsAFailureToo) {
  EXPECT_EQ(value("journal_failures_total"), 0);
  open();
  house->do_without("another program keeps it locked");
  begin();
  EXPECT_EQ(value("journal_failures_total"), 1);
}

TEST_F(MetricsOfHouse, TheSessionIsOpenInRegularHoursAlone) {
  EXPECT_EQ(value("session_open"), 1);
  time.run_until(*parse_rfc3339("2026-10-14T16:30:00-04:00"));
  EXPECT_EQ(value("session_open"), 0);
}

TEST_F(MetricsOfHouse, AHoleIsASpanThatWasNotSeen) {
  EXPECT_EQ(value("holes_total"), 1) << "from the open until the program was there";
  Tick hole;
  hole.kind = TickKind::hole;
  hole.time = hole.received = time.truth();
  hole.symbol = symbols->find("KLVN");
  const double before = value("feed_faults_total{feed=\"main\",kind=\"holes\"}");
  listener->on_ticks({&hole, 1});
  pass(kSecond);
  EXPECT_EQ(value("feed_faults_total{feed=\"main\",kind=\"holes\"}"), before + 1);
  EXPECT_EQ(value("holes_total"), 2);
}

TEST_F(MetricsOfHouse, AFeedIsSilentSinceItsLastTickAndLateByItsAge) {
  trade("KLVN", "19.81");
  EXPECT_EQ(value("feed_lag_seconds{feed=\"main\"}"), 0);
  pass(4 * kSecond);
  listener->on_frame(time.truth(), "a sign of life");
  EXPECT_NEAR(value("feed_silent_seconds{feed=\"main\"}"), 4, 0.01);
  EXPECT_EQ(value("feed_carrying{feed=\"main\"}"), 1);
}

TEST_F(MetricsOfHouse, ADeliveryIsCountedWhereItEnds) {
  const double before = of_desk("delivered");
  other.waits = true;
  trade("KLVN", "20.10");
  pass(kSecond);
  EXPECT_EQ(value("deliveries_waiting{channel=\"desk\"}"), 1);
  EXPECT_EQ(of_desk("delivered"), before);
  other.take();
  pass(kSecond);
  EXPECT_EQ(value("deliveries_waiting{channel=\"desk\"}"), 0);
  EXPECT_EQ(of_desk("delivered"), before + 1);
  for (const char* const outcome : {"dead", "expired", "unknown"}) EXPECT_EQ(of_desk(outcome), 0) << outcome;
}

TEST_F(MetricsOfHouse, OfAWatchTheOddsAndTheMedianAreThoseOfTheSnapshot) {
  const Snapshot now = house->snapshot();
  ASSERT_EQ(now.watches.front().symbol, "KLVN");
  const bool judged = now.watches.front().volume.why_not == NoJudgement::none;
  EXPECT_EQ(std::isnan(value("watch_odds_ratio{symbol=\"KLVN\",pivot=\"20.00\"}")), !judged);
  EXPECT_EQ(std::isnan(value("watch_projected_shares{symbol=\"KLVN\",pivot=\"20.00\"}")), !judged);
}

}  // namespace
}  // namespace brimwatch::simulation
