// What the user's own crossings teach: a known truth is found again and drawn towards the shipped model, days that move
// together count for less, what was in force is not learned twice; and its file.
#include "volume/learning/own_lift.h"

#include <gmock/gmock.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "volume/projection.h"
#include "volume/students_t.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;

constexpr Date kFirst = Date::of(2026, 3, 2);
constexpr double kSpread = .25, kMinute = 30;

/// How ln(day) moves with the lift at that crossing, from the model's own formula.
double effect(double lift) {
  const double left = 1 - default_curve().at(kMinute), by = 1e-6, part = 1.2 / 1.5;
  return (std::log1p(part * (1 + by / (left + lift)) - part)) / by;
}

/// Crossings whose errors are as the model says, but for a lift that it lacks. `alike` of them a day have one error.
std::vector<PastCrossing> crossings(int count, double missing, int alike = 1, double own = 0) {
  std::vector<PastCrossing> out;
  const int draws = count / alike;
  for (int i = 0; i < count; ++i) {
    const int draw = (i / alike * 7) % draws;  // 7 and the counts used have no common factor
    const double error = skewed_t8_inverse((draw + .5) / draws) * kSpread;
    PastCrossing one{kFirst + i / 2, kMinute, .3e6, 1.5e6, 0, 0, 0, .04 + own, own};
    if (alike > 1) one.day = kFirst + i / alike;
    one.low = one.projected * std::exp(kSpread * skewed_t8_inverse(.1));
    one.high = one.projected * std::exp(kSpread * skewed_t8_inverse(.9));
    one.came = one.projected * std::exp(error + effect(one.lift) * missing);
    out.push_back(one);
  }
  return out;
}

TEST(OwnLift, ManyCrossingsBringItToWhatIsMissing) {
  EXPECT_NEAR(learn_lift(crossings(6000, .03)).lift, .03, .004);
  EXPECT_NEAR(learn_lift(crossings(6000, -.03)).lift, -.03, .004);
  EXPECT_NEAR(learn_lift(crossings(6000, 0)).lift, 0, .003) << "honest odds teach nothing";
}

TEST(OwnLift, FewDrawItTowardsTheShippedOne) {
  const OwnLift few = learn_lift(crossings(40, .05)), more = learn_lift(crossings(400, .05));
  EXPECT_GT(few.lift, .005);
  EXPECT_LT(few.lift, .04);
  EXPECT_GT(more.lift, few.lift);
  EXPECT_LT(more.lift, .05);
}

/// The mean of the posterior of a normal mean under a normal prior (any textbook on Bayesian statistics), by hand: n
/// crossings whose errors vary by (8 / 6) spread^2.
TEST(OwnLift, IsTheMeanOfTheTextbooksPosterior) {
  constexpr int kCount = 100;
  auto all = crossings(kCount, 0);
  for (PastCrossing& one : all) one.came = one.projected * std::exp(kSkewMean * kSpread + effect(.04) * .05);
  const double variance = 8.0 / 6 * kSpread * kSpread / (kCount * effect(.04) * effect(.04));
  EXPECT_NEAR(learn_lift(all).lift, .05 * (.04 * .04) / (.04 * .04 + variance), 1e-5);
}

TEST(OwnLift, StocksOfOneDayThatMoveTogetherTeachLess) {
  EXPECT_LT(learn_lift(crossings(300, .05, 10)).lift, learn_lift(crossings(300, .05)).lift - .002);
}

TEST(OwnLift, WhatIsInForceIsNotLearnedTwice) {
  const double learned = learn_lift(crossings(400, .03)).lift;
  EXPECT_NEAR(learn_lift(crossings(400, 0, 1, .03)).lift, learned, .003) << "said with it, and then right";
}

TEST(OwnLift, TooFewTeachNothingAndAreCounted) {
  const OwnLift few = learn_lift(crossings(kFewestCrossings - 1, .05));
  EXPECT_EQ(few.lift, 0);
  EXPECT_EQ(few.crossings, kFewestCrossings - 1);
  EXPECT_EQ(few.days, 15);
  EXPECT_EQ(few.from, kFirst);
  EXPECT_EQ(few.to, kFirst + 14);
  EXPECT_EQ(learn_lift(crossings(45, .05, 5)).lift, 0) << "on nine days";
  EXPECT_EQ(learn_lift({}), OwnLift{});
}

TEST(OwnLift, NoNonsenseTeaches) {
  auto all = crossings(60, .02);
  const double sound = learn_lift(all).lift;
  for (const double bad : {0.0, -1.0, std::nan("")}) {
    for (const auto member : {&PastCrossing::came, &PastCrossing::projected, &PastCrossing::low, &PastCrossing::high}) {
      PastCrossing one = all.front();
      one.*member = bad;
      all.push_back(one);
    }
  }
  EXPECT_EQ(learn_lift(all).lift, sound);
  all.resize(60);
  for (PastCrossing& one : all) one.came *= 1e6;
  EXPECT_EQ(learn_lift(all).lift, .10) << "bounded";
}

const OwnLifts kTwo = {{Date::of(2026, 10, 1), .0125, 44, 20, kFirst, Date::of(2026, 9, 30)},
                       {Date::of(2026, 11, 3), .02, 64, 31, kFirst, Date::of(2026, 10, 30)}};

TEST(OwnLift, ADayIsJudgedByWhatWasKnownThen) {
  EXPECT_EQ(own_lift_on(kTwo, Date::of(2026, 9, 30)), nullptr);
  EXPECT_EQ(own_lift_on(kTwo, Date::of(2026, 10, 1)), &kTwo[0]);
  EXPECT_EQ(own_lift_on(kTwo, Date::of(2026, 11, 2)), &kTwo[0]);
  EXPECT_EQ(own_lift_on(kTwo, Date::of(2027, 5, 3)), &kTwo[1]);
}

TEST(OwnLift, IsDueOnceAMonth) {
  EXPECT_TRUE(is_lift_due({}, Date::of(2026, 11, 3)));
  EXPECT_FALSE(is_lift_due(kTwo, Date::of(2026, 11, 30)));
  EXPECT_TRUE(is_lift_due(kTwo, Date::of(2026, 12, 1)));
  EXPECT_TRUE(is_lift_due(kTwo, Date::of(2027, 11, 5))) << "the same month of another year";
  EXPECT_FALSE(is_lift_due(kTwo, Date::of(2026, 10, 20))) << "a clock that was set back";
}

TEST(OwnLift, SaysWhatItIsAndWhereItComesFrom) {
  EXPECT_EQ(lift_in_words(kTwo),
            "since 2026-11-03 your own crossings move the volume to come after one: +2.0 % of a day, from 64 till "
            "2026-10-30");
  EXPECT_EQ(lift_in_words({}), "");
  EXPECT_EQ(lift_in_words({{kFirst, 0, 12, 9, kFirst, kFirst}}), "");
}

TEST(OwnLiftFile, ComesBackAsItWas) {
  EXPECT_EQ(own_lift_file("/a/curves.toml"), "/a/curves-crossings.csv");
  EXPECT_EQ(own_lift_file("/a.b/curves"), "/a.b/curves-crossings.csv");
  const std::string path = ::testing::TempDir() + "own_lift_test-crossings.csv";
  std::filesystem::remove(path);
  const auto none = read_own_lifts(path);
  ASSERT_TRUE(none);
  EXPECT_TRUE(none->empty());
  ASSERT_TRUE(write_own_lifts(path, kTwo));
  const auto back = read_own_lifts(path);
  ASSERT_TRUE(back) << back.error().text;
  EXPECT_EQ(*back, kTwo);
  std::filesystem::remove(path);
  EXPECT_FALSE(write_own_lifts("/dev/null/curves-crossings.csv", kTwo));
}

TEST(OwnLiftFile, ALineThatCannotBeReadIsTold) {
  const std::string head = "since,lift,crossings,days,from,to\n", good = "2026-10-01,.02,44,20,2026-03-02,2026-09-30\n";
  ASSERT_TRUE(parse_own_lifts(head + good, "f")) << parse_own_lifts(head + good, "f").error().text;
  for (const std::string line :
       {"2026-11-01,x,44,20,2026-03-02,2026-09-30", "2026-11-01,.9,44,20,2026-03-02,2026-09-30",
        "2026-11-01,nan,44,20,2026-03-02,2026-09-30", "2026-11-01,.02,-1,20,2026-03-02,2026-09-30",
        "2026-11-01,.02,44,20,2026-03-02", "2026-09-01,.02,44,20,2026-03-02,2026-09-30", "\"2026-11-01"}) {
    const auto read = parse_own_lifts(head + good + line + "\n", "f");
    ASSERT_FALSE(read) << line;
    EXPECT_THAT(read.error().text, HasSubstr("f:3:1: found \"" + line.substr(0, 60)));
  }
  EXPECT_THAT(parse_own_lifts("version = 1\n", "f").error().text, HasSubstr("expected since,lift"));
}

}  // namespace
}  // namespace brimwatch
