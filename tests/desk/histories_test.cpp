// Daily bars, learned curves and the feed's part of the tape, as the desk gets them at the start and at a reload.
#include "desk/histories.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "session/calendar.h"
#include "support/new_york.h"
#include "volume/learning/learned_file.h"

namespace brimwatch {
namespace {

using test::new_york;

namespace fs = std::filesystem;

constexpr int kFirst = 20'000;  // days since 1970

class HistoriesTest : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::path(::testing::TempDir()) / ("histories_" + std::to_string(::getpid()));
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }

  /// `count` official days of a million shares from day kFirst on.
  void write_official(const std::string& symbol, int count) {
    std::ofstream out(folder_ / (symbol + ".csv"));
    out << "date,volume\n";
    for (int i = 0; i < count; ++i) out << to_string(Date{kFirst + i}) << ",1000000\n";
  }
  void load(const std::string& learned = {}) {
    histories_.load(folder_.string(), learned, {"KLVN"});
    EXPECT_TRUE(histories_.problems().empty());
  }

  fs::path folder_;
  Histories histories_;
};

FeedDay feed_day(int day, double total) { return {Date{kFirst + day}, total, 1, false}; }

TEST_F(HistoriesTest, TheFeedsPartComesFromTheJournalAndGrowsWithLaterOfficialBars) {
  write_official("KLVN", 30);
  load();
  EXPECT_EQ(histories_.learned("KLVN"), nullptr);
  // Two days that the official bars do not reach yet: a feed that is plainly a part is doubted.
  histories_.take_feed_days({{"KLVN", {feed_day(30, 40e3), feed_day(31, 45e3)}}, {"NONE", {feed_day(30, 1)}}});
  ASSERT_NE(histories_.learned("KLVN"), nullptr);
  EXPECT_TRUE(histories_.learned("KLVN")->ratio_doubt);
  EXPECT_EQ(histories_.learned("NONE"), nullptr);
  // A week later, at a reload, the official bars of those days have come.
  for (int day = 32; day < 36; ++day) histories_.add_feed_day("KLVN", feed_day(day, 41e3));
  histories_.add_feed_day("KLVN", feed_day(35, 43e3));  // corrected: written again, not counted twice
  write_official("KLVN", 36);
  load();
  const std::shared_ptr<const Learned> learned = histories_.learned("KLVN");
  EXPECT_FALSE(learned->ratio_doubt);
  EXPECT_EQ(learned->ratio_days, 6);
  EXPECT_NEAR(learned->feed_ratio, std::exp((std::log(0.041) + std::log(0.041)) / 2), 1e-3);
}

TEST_F(HistoriesTest, AFeedThatCarriesTheTapeIsNotDoubted) {
  write_official("KLVN", 30);
  load();
  histories_.take_feed_days({{"KLVN", {feed_day(30, 0.7e6), feed_day(31, 1.9e6)}}});
  EXPECT_EQ(histories_.learned("KLVN"), nullptr);
}

TEST_F(HistoriesTest, WhatAnOlderJournalTaughtStaysWhereThisOneHasNothingToSay) {
  LearnedBySymbol all;
  for (int day = 0; day < 8; ++day) learn_ratio(all["KLVN"], 25, 100);
  const std::string file = (folder_ / "curves.toml").string();
  ASSERT_TRUE(write_learned(file, all));
  write_official("KLVN", 30);
  load(file);
  histories_.take_feed_days({{"KLVN", {feed_day(30, 40e3)}}});
  EXPECT_EQ(histories_.learned("KLVN")->ratio_days, 8);
  EXPECT_FALSE(histories_.learned("KLVN")->ratio_doubt);
}

// A daemon that was off over the evening learns yesterday while today is on.
TEST_F(HistoriesTest, ALessonDoesNotChangeThePlansThatAre) {
  const auto calendar = Calendar::load("XNYS", {});
  const Session& today = *(*calendar)->on(*parse_date("2026-12-07"));
  const auto learn = [&](double opening, const char* day) {
    Learned learned;
    KnotLogs shape{};
    for (std::size_t i = 0; i + 1 < kKnots; ++i) shape[i] = std::log(default_curve().share[i]) * opening;
    for (int n = 0; n < 20; ++n) learn_shape(learned, shape);
    learned.last_day = *parse_date(day);
    histories_.put_learned("KLVN", learned);
  };
  const auto plan = [&] {
    return make_plan(today, {}, histories_.learned("KLVN"), Shares::whole(1'000'000), **calendar);
  };
  learn(1.0, "2026-12-03");
  const DayPlan before = plan();
  const double share = before.curve->at(60);
  learn(0.5, "2026-12-04");
  EXPECT_EQ(before.curve->at(60), share);
  EXPECT_GT(plan().curve->at(60), share * 1.2);

  // A reload reads the file, which does not know yesterday yet.
  Histories file;
  Learned older;
  older.last_day = *parse_date("2026-12-03"), older.days = 3;
  file.put_learned("KLVN", older), file.put_learned("ORRI", older);
  histories_.take(std::move(file));
  EXPECT_EQ(histories_.learned("KLVN")->last_day, *parse_date("2026-12-04"));
  EXPECT_EQ(histories_.learned("ORRI")->days, 3);
  EXPECT_EQ(histories_.all_learned().size(), 2U);
}

/// Sixty sessions to Wednesday 2026-11-25 that close at 100, a million shares each; from `split` on at 50 and two
/// million.
std::string sessions_with_split(const char* split, bool tells) {
  std::string text = tells ? "date,open,high,low,close,volume,split ratio\n" : "date,open,high,low,close,volume\n";
  std::vector<std::string> rows;
  for (const Session* at = new_york().before(*parse_date("2026-11-26")); rows.size() < 60;
       at = new_york().before(at->day)) {
    const bool after = at->day >= *parse_date(split);
    rows.push_back(to_string(at->day) + (after ? ",50,50,50,50,2000000" : ",100,100,100,100,1000000") +
                   (!tells                          ? ""
                    : at->day == *parse_date(split) ? ",2"
                                                    : ",1") +
                   "\n");
  }
  for (auto row = rows.rbegin(); row != rows.rend(); ++row) text += *row;
  return text;
}

TEST_F(HistoriesTest, ASplitThatTheFileOfBarsTellsOfCountsHereAsItDoesForThePreparation) {
  std::ofstream(folder_ / "KLVN.csv") << sessions_with_split("2026-11-09", true);
  load();
  EXPECT_DOUBLE_EQ(normal_volume(histories_.daily("KLVN"), *parse_date("2026-11-27"), new_york()), 2e6);
  EXPECT_EQ(histories_.daily("KLVN").front().close, *parse_price("50"));
}

TEST_F(HistoriesTest, ASplitOfTheListCountsFromItsDayOn) {
  std::ofstream(folder_ / "KLVN.csv") << sessions_with_split("2026-12-31", false);  // at 100 to the end
  const PriceEvents events = {{"KLVN", {{*parse_date("2026-11-30"), 2, {}}}}};
  histories_.load(folder_.string(), {}, {"KLVN"}, events);
  const auto before = histories_.daily_for("KLVN", *parse_date("2026-11-27"), new_york());
  EXPECT_EQ(before.back().close, *parse_price("100"));
  const auto from = histories_.daily_for("KLVN", *parse_date("2026-11-30"), new_york());
  EXPECT_EQ(from.back().close, *parse_price("50"));
  EXPECT_DOUBLE_EQ(normal_volume(from, *parse_date("2026-11-30"), new_york()), 2e6);
}

TEST_F(HistoriesTest, BarsThatEndedLongAgoAreNotJudgedBy) {
  std::ofstream(folder_ / "KLVN.csv") << sessions_with_split("2026-12-31", false);
  load();
  const auto& bars = histories_.daily("KLVN");
  EXPECT_EQ(sessions_missing(bars, *parse_date("2026-11-27"), new_york()), 0);
  EXPECT_EQ(sessions_missing(bars, *parse_date("2026-11-30"), new_york()), 1);
  EXPECT_EQ(sessions_missing(bars, *parse_date("2026-01-02"), new_york()), 0) << "none before that day";
  const Session* day = new_york().on(*parse_date("2026-11-27"));
  for (int i = 0; i < kOldestSessions; ++i) day = new_york().at_or_after(day->close);
  EXPECT_FALSE(histories_.daily_for("KLVN", day->day, new_york()).empty());
  day = new_york().at_or_after(day->close);
  EXPECT_TRUE(histories_.daily_for("KLVN", day->day, new_york()).empty());
  EXPECT_TRUE(histories_.daily_for("KLVN", *parse_date("2029-11-27"), new_york()).empty());
}

// A folder behind a loop of links cannot be looked at, as one that may not be entered cannot, and for root alike.
TEST_F(HistoriesTest, AFolderThatCannotBeReachedIsAProblemAndNotTheEnd) {
  fs::create_symlink(folder_ / "loop", folder_ / "loop");
  histories_.load((folder_ / "loop").string(), {}, {"KLVN"});
  ASSERT_EQ(histories_.problems().size(), 1U);
  EXPECT_NE(histories_.problems()[0].find("cannot be reached"), std::string::npos) << histories_.problems()[0];
  fs::create_symlink(folder_ / "KLVN.csv", folder_ / "KLVN.csv");
  histories_.load(folder_.string(), {}, {"KLVN"});
  ASSERT_EQ(histories_.problems().size(), 1U);
  EXPECT_NE(histories_.problems()[0].find("KLVN.csv: found a file that cannot be opened"), std::string::npos);
}

/// Days that the daemon heard count where the official bars lack them, never in their place, and teach no ratio.
TEST_F(HistoriesTest, HeardDaysFillWhatTheOfficialBarsLack) {
  write_official("KLVN", 30);
  fs::create_directories(folder_ / "heard");
  for (const char* symbol : {"KLVN", "NIVO"})
    std::ofstream(folder_ / "heard" / (std::string(symbol) + ".csv"))
        << "date,open,high,low,close,volume,from\n"
        << to_string(Date{kFirst + 29}) << ",1,1,1,1,5,feed\n"
        << to_string(Date{kFirst + 30}) << ",1,1,1,1,2000000,feed\n";
  histories_.load(folder_.string(), {}, {"KLVN", "NIVO"}, {}, {}, (folder_ / "heard").string());
  ASSERT_EQ(histories_.daily("KLVN").size(), 31U);
  EXPECT_EQ(histories_.daily("KLVN")[29].volume, 1e6);
  EXPECT_EQ(histories_.own_days("KLVN"), std::vector<Date>{Date{kFirst + 30}});
  EXPECT_EQ(histories_.official_volume("KLVN", Date{kFirst + 29}), 1e6);
  EXPECT_EQ(histories_.official_volume("KLVN", Date{kFirst + 30}), 0);
  EXPECT_EQ(histories_.daily("NIVO").size(), 2U) << "without any source";
}

/// What is doubtful is used, and said.
TEST_F(HistoriesTest, DoubtfulBarsAreUsedAndTold) {
  std::ofstream out(folder_ / "KLVN.csv");
  out << "date,open,high,low,close,volume\n";
  for (int i = 0; i < 40; ++i)
    out << to_string(Date{kFirst + i}) << ",50," << (i == 30 ? 80 : 51) << ",49,50," << 1'000'000 + 1000 * i << "\n";
  out.close();
  histories_.load(folder_.string(), {}, {"KLVN"});
  EXPECT_EQ(histories_.daily("KLVN").size(), 40U);
  EXPECT_NE(histories_.doubts("KLVN").find("a price of 80.00 on"), std::string::npos) << histories_.doubts("KLVN");
  ASSERT_EQ(histories_.problems().size(), 1U);
  EXPECT_NE(histories_.problems()[0].find("KLVN.csv: doubtful daily bars: a price of 80.00"), std::string::npos);
}

TEST_F(HistoriesTest, AFeedWithoutAuctionsGivesNewSymbolsACurveWithoutOne) {
  const auto known = [&](const char* symbol, const Curve& curve) {
    Learned learned;
    KnotLogs shape{};
    for (std::size_t i = 0; i + 1 < kKnots; ++i) shape[i] = std::log(curve.share[i]);
    for (int day = 0; day < 60; ++day) learn_shape(learned, shape);
    histories_.put_learned(symbol, learned);
  };
  EXPECT_EQ(&histories_.usual_curve(), &default_curve());
  for (const char* symbol : {"A", "B"}) known(symbol, default_curve_without_auction());
  EXPECT_EQ(&histories_.usual_curve(), &default_curve());  // two symbols are too few
  known("C", default_curve_without_auction());
  EXPECT_EQ(&histories_.usual_curve(), &default_curve_without_auction());
  known("D", default_curve());
  EXPECT_EQ(&histories_.usual_curve(), &default_curve());  // three of four only: the stocks differ, not the feed
}

}  // namespace
}  // namespace brimwatch
