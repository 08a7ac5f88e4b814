#include "volume/learning/learning.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <cmath>
#include <fstream>
#include <limits>

#include "volume/learning/learned_file.h"
#include "volume/picture.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

/// A day whose morning is `times` as heavy as by default.
KnotLogs bent_shape(double times, bool only_hours = false) {
  KnotLogs logs;
  logs.fill(std::numeric_limits<double>::quiet_NaN());
  for (std::size_t i = 0; i + 1 < kKnots; ++i) {
    const bool hour = kKnotMinutes[i] == 30 || (kKnotMinutes[i] > 30 && std::fmod(kKnotMinutes[i] - 30, 60) == 0);
    if (only_hours && !hour) continue;
    const double share = default_curve().share[i];
    logs[i] = std::log(share * times / (share * times + 1 - share));
  }
  return logs;
}

TEST(Learning, TheCurveMovesFromTheDefaultToTheSymbolsOwn) {
  Learned learned;
  const double wanted = std::exp(bent_shape(1.5)[6]);
  double before = default_curve().share[6];
  for (int day = 0; day < 60; ++day) {
    learn_shape(learned, bent_shape(1.5));
    EXPECT_GT(learned.curve.share[6], before);
    before = learned.curve.share[6];
  }
  EXPECT_NEAR(before, wanted, 0.01);
  EXPECT_EQ(learned.days, 60);
  for (std::size_t i = 1; i < kKnots; ++i) EXPECT_GE(learned.curve.share[i], learned.curve.share[i - 1]);
  EXPECT_EQ(learned.curve.share[kKnots - 1], 1);
}

TEST(Learning, FromHourBarsTheWholeCurveBends) {
  Learned learned;
  for (int day = 0; day < 200; ++day) learn_shape(learned, bent_shape(1.5, true));
  EXPECT_NEAR(learned.curve.at(30), std::exp(bent_shape(1.5)[6]), 0.01);
  EXPECT_GT(learned.curve.at(15), 1.2 * default_curve().at(15));
  EXPECT_GT(learned.curve.at(60), default_curve().at(60));
}

TEST(Learning, RecentDaysWeighMore) {
  Learned learned;
  for (int day = 0; day < 200; ++day) learn_shape(learned, bent_shape(1));
  for (int day = 0; day < 40; ++day) learn_shape(learned, bent_shape(1.4));  // one half-life
  const double off = std::log(learned.curve.share[9]) - std::log(default_curve().share[9]);
  EXPECT_NEAR(off / (bent_shape(1.4)[9] - bent_shape(1)[9]), 0.5, 0.04);
}

TEST(Learning, OneWildDayIsDrawnIn) {
  Learned learned;
  for (int day = 0; day < 30; ++day) learn_shape(learned, bent_shape(1));
  KnotLogs wild = bent_shape(1);
  for (double& log : wild) log = std::log(1e-4);
  learn_shape(learned, wild);
  EXPECT_GT(learned.curve.at(90), 0.8 * default_curve().at(90));
}

TEST(Learning, AFeedWithoutTheClosingAuctionIsSeenToHaveNone) {
  Learned with, without;
  KnotLogs full{}, bare{};
  for (std::size_t i = 0; i + 1 < kKnots; ++i) {
    full[i] = std::log(default_curve().share[i]);
    bare[i] = std::log(default_curve_without_auction().share[i]);
  }
  for (int day = 0; day < 100; ++day) learn_shape(with, full), learn_shape(without, bare);
  EXPECT_NEAR(with.curve.auction, 0.11, 0.02);
  EXPECT_LT(without.curve.auction, 0.02);
}

TEST(Learning, KappaFollowsTheErrorsWithinItsBounds) {
  Learned learned;
  const std::vector<ForecastError> large(10, {0.9, 0.25}), none(10, {0, 0.25});
  for (int day = 0; day < 500; ++day) learn_width(learned, large);
  EXPECT_EQ(learned.kappa, 2.5);
  for (int day = 0; day < 500; ++day) learn_width(learned, none);
  EXPECT_EQ(learned.kappa, 0.6);
}

TEST(Learning, TheFeedsShareIsTheMedianOfTwentyDays) {
  Learned learned;
  for (int day = 0; day < 30; ++day) learn_ratio(learned, day < 10 ? 90 : 30 + day % 3, 100);
  EXPECT_EQ(learned.ratio_days, 20);
  EXPECT_NEAR(learned.feed_ratio, 0.31, 0.005);
  EXPECT_GT(learned.feed_ratio_sd, 0.01);
  EXPECT_LT(learned.feed_ratio_sd, 0.08);
}

TEST(Learning, TheFeedsShareComesFromTheJournalOnceTheOfficialBarsAreThere) {
  std::vector<FeedDay> days;
  std::vector<DailyBar> official;
  for (int i = 0; i < 9; ++i) {
    DayRecord record;
    record.day = Date{20'000 + i};
    record.volume = Shares::whole(400'000);
    record.coverage = i == 3 ? 0.5 : 1;  // blind for half of it
    days.push_back(feed_day_of(record));
    if (i < 7) official.push_back({record.day, {}, {}, {}, {}, 1e6});
  }
  Learned learned;
  learn_ratios(learned, days, official);
  learn_ratios(learned, days, official);  // a second time changes nothing
  EXPECT_EQ(learned.ratio_days, 6);
  EXPECT_NEAR(learned.feed_ratio, 0.4, 1e-9);
}

TEST(Learning, DaysWithHolesHalfDaysAndOldDaysTeachNothing) {
  Learned learned;
  FinishedDay day{Date{20'000}, 1e6, 0, 0.90, false, bent_shape(1)};
  EXPECT_FALSE(learn_day(learned, day, DayPlan{}));
  day.coverage = 1;
  EXPECT_TRUE(learn_day(learned, day, DayPlan{}));
  EXPECT_EQ(learned.days, 1);
  EXPECT_FALSE(learn_day(learned, day, DayPlan{}));  // a second time
  day.day = day.day + 1;
  day.half_day = true;
  EXPECT_TRUE(learn_day(learned, day, DayPlan{}));
  EXPECT_EQ(learned.days, 1);
}

TEST(LearnedFile, SaysTheSameAfterWritingAndReading) {
  LearnedBySymbol all;
  for (int day = 0; day < 25; ++day) {
    learn_shape(all["KLVN"], bent_shape(1 + 0.01 * day));
    learn_ratio(all["KLVN"], 30 + day, 100);
  }
  all["OR.RI"].kappa = 1.25;
  const std::string path = testing::TempDir() + "curves_" + std::to_string(::getpid()) + ".toml";
  ASSERT_TRUE(write_learned(path, all));
  struct stat info {};
  ASSERT_EQ(::stat(path.c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777, 0600u);
  const auto back = read_learned(path);
  ASSERT_TRUE(back) << back.error().text;
  EXPECT_EQ(learned_text(*back), learned_text(all));
  EXPECT_EQ(back->at("KLVN").curve.share, all["KLVN"].curve.share);
  EXPECT_EQ(back->at("KLVN").feed_ratio, all["KLVN"].feed_ratio);
  ASSERT_TRUE(read_learned("/dev/null/curves.toml"));
  EXPECT_FALSE(write_learned("/dev/null/curves.toml", all));
}

// Bars whose column of symbols had a gap once taught a stock without a name.
TEST(LearnedFile, ABlankSymbolDoesNotMakeItUnreadable) {
  LearnedBySymbol all;
  learn_shape(all[""], bent_shape(1));
  learn_shape(all["KLVN"], bent_shape(1));
  learn_shape(all["a\"]\nb"], bent_shape(1));
  const auto back = parse_learned(learned_text(all), "c.toml");
  ASSERT_TRUE(back) << back.error().text;
  EXPECT_EQ(back->size(), 1U);
  const std::string old = "version = 1\n[\"\"]\ndays = 3\n[\"KLVN\"]\nkappa = 1.5\n";
  const auto mended = parse_learned(old, "c.toml");
  ASSERT_TRUE(mended) << mended.error().text;
  EXPECT_EQ(mended->size(), 1U);
  EXPECT_EQ(mended->at("KLVN").kappa, 1.5);
}

TEST(LearnedFile, DamageIsToldWithItsLine) {
  const auto error = [](const char* text) { return parse_learned(text, "c.toml").error().text; };
  EXPECT_THAT(error("version = 2\n"), HasSubstr("c.toml:1:1: found \"version = 2\""));
  EXPECT_THAT(error("version = 1\n[\"A\"]\nkappa = -1\n"), HasSubstr("c.toml:3:1"));
  EXPECT_THAT(error("version = 1\n[\"A\"]\nseen = [1, 2]\n"), HasSubstr("c.toml:3:1"));
  EXPECT_THAT(error("[\"A\"]\n"), HasSubstr("version = 1 first"));
  EXPECT_FALSE(parse_learned("version = 1\nnonsense\n", "c.toml"));
}

TEST(Picture, HasARowForEachQuarterHourAndTheClosingPrint) {
  const std::string picture = draw_curve("KLVN", {});
  EXPECT_EQ(std::count(picture.begin(), picture.end(), '\n'), 29);
  EXPECT_THAT(picture, HasSubstr("09:30-09:45     7.5 %    7.5 %"));
  EXPECT_THAT(picture, HasSubstr("closing print  11.0 %  100.0 %"));
}

}  // namespace
}  // namespace brimwatch
