// From a journal on disk and files of daily bars to a review: what the evening works on, and the audit of the odds.
#include "evening/gather.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "record.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using ::testing::Contains;
using ::testing::HasSubstr;
using testing_support::crossing;
using testing_support::flat;
using testing_support::kDay;
using testing_support::price;

class Gather : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::path(::testing::TempDir()) / ("gather_" + std::to_string(::getpid()) + "_" +
                                                ::testing::UnitTest::GetInstance()->current_test_info()->name());
    fs::create_directories(folder_ / "history");
    auto journal = Journal::open((folder_ / "journal.db").string());
    ASSERT_TRUE(journal) << journal.error().text;
    journal_ = std::move(*journal);
  }
  void TearDown() override {
    journal_.reset();
    fs::remove_all(folder_);
  }

  void keep(const JournalBatch& batch, const Recipients& recipients = {}) {
    const auto done = journal_->commit(batch, recipients, nullptr);
    ASSERT_TRUE(done) << done.error().text;
  }
  /// What the daemon keeps of a day: the crossing with its odds, and what the day came to. `part`: of the tape, that the
  /// feed carries; everything is counted in its shares.
  void keep_day(int n, double odds, double volume, double part = 1) {
    JournalBatch batch;
    batch.notices = {crossing(odds >= 0.7 ? Weight::heavy : Weight::light, odds, kDay + n)};
    VolumeView& said = batch.notices[0].notice.volume;
    said.feed_ratio = part;
    said.normal = Shares{std::llround(static_cast<double>(said.normal.micros) * part)};
    for (double* shares : {&said.projected, &said.low, &said.high}) *shares *= part;
    DayRecord day;
    day.day = kDay + n;
    day.symbol = "KLVN";
    day.volume = Shares::whole(static_cast<std::int64_t>(volume));
    day.open = day.high = day.low = day.close = price(51);
    batch.days = {day};
    keep(batch);
  }
  void write_bars(const std::string& text) { std::ofstream(folder_ / "history" / "KLVN.csv") << text; }
  ReviewInput gathered(Date from, Date to, PriceEvents events = {}) {
    ReviewOptions span;
    span.from = from;
    span.to = to;
    auto out = gather(*journal_, {history_ ? (folder_ / "history").string() : "", {}, std::move(events)}, span);
    EXPECT_TRUE(out) << (out ? "" : out.error().text);
    remarks_ = out ? out->remarks : std::vector<std::string>{};
    return out ? std::move(out->input) : ReviewInput{};
  }

  fs::path folder_;
  std::unique_ptr<Journal> journal_;
  std::vector<std::string> remarks_;
  bool history_ = true;
};

TEST_F(Gather, brings_notices_deliveries_days_holes_and_bars_together) {
  keep_day(0, 0.9, 1.2e6);
  JournalBatch more;
  more.notices = {crossing(Weight::heavy, 0.8, kDay + 1)};
  more.holes = {{"main", "", Timestamp{kDay.days * kDayNanos + 14 * kHour}, Timestamp{kDay.days * kDayNanos + 15 * kHour},
                 "cable"}};
  keep(more, to_all({"mail"}));
  write_bars("date,open,high,low,close,volume\n2026-03-02,50,52,49,51.5,1500000\n2026-03-03,51,53,50,52,1000000\n");
  const ReviewInput input = gathered(kDay, kDay + 1);
  EXPECT_EQ(input.notices.size(), 2U);
  EXPECT_EQ(input.deliveries.size(), 1U);
  EXPECT_EQ(input.holes.size(), 1U);
  EXPECT_EQ(input.days.size(), 1U);
  EXPECT_EQ(input.bars.at("KLVN").size(), 2U);
  const Review out = review(input);
  EXPECT_DOUBLE_EQ(*out.crossings.at(0).surge, 50) << "the daily bar's volume wins over the feed's own count";
  EXPECT_TRUE(remarks_.empty());
}

TEST_F(Gather, leaves_out_other_days) {
  for (int n = 0; n < 5; ++n) keep_day(n, 0.9, 1.5e6);
  EXPECT_EQ(review(gathered(kDay + 1, kDay + 3)).crossings.size(), 3U);
  EXPECT_EQ(**last_day(*journal_), kDay + 4);
}

TEST_F(Gather, says_what_could_not_be_had) {
  keep_day(0, 0.9, 1.5e6);
  static_cast<void>(gathered(kDay, kDay));
  EXPECT_THAT(remarks_, Contains(HasSubstr("KLVN: no daily bars at")));
  write_bars("nonsense\n");
  static_cast<void>(gathered(kDay, kDay));
  EXPECT_THAT(remarks_, Contains(HasSubstr("KLVN.csv:1:1")));
  history_ = false;
  static_cast<void>(gathered(kDay, kDay));
  EXPECT_THAT(remarks_, Contains(HasSubstr("no daily bars were given")));
}

TEST_F(Gather, takes_splits_from_the_events_and_from_the_file_of_bars_itself_once) {
  keep_day(0, 0.9, 1.5e6);
  write_bars(
      "date,open,high,low,close,volume,split ratio\n2026-03-02,50,52,49,51.5,1500000,1\n"
      "2026-03-03,26,26.5,25.5,26,3000000,2\n");
  for (const PriceEvents& events : {PriceEvents{}, PriceEvents{{"KLVN", {{kDay + 1, 2, {}}}}}}) {
    const ReviewInput input = gathered(kDay, kDay, events);
    EXPECT_EQ(input.notices.at(0).notice.pivot, price(25));
    EXPECT_EQ(input.bars.at("KLVN").at(0).close, price(25.75));
    EXPECT_DOUBLE_EQ(*review(input).crossings.at(0).surge, 50);
  }
}

TEST_F(Gather, lets_the_journal_alone_show_that_the_odds_have_drifted) {
  // The audit of every evening: forty days said 0.80 to 0.92; the needed 1.4 million came on every third of them only.
  history_ = false;
  for (int n = 0; n < 40; ++n) keep_day(n, 0.80 + 0.04 * (n % 4), n % 3 == 0 ? 1.6e6 : 1.1e6);
  const Review out = review(gathered(kDay, kDay + 39));
  EXPECT_EQ(out.reliability.count, 40);
  EXPECT_EQ(out.reliability.drift, Drift::too_high);
  const std::string words = flat(in_words(out));
  EXPECT_THAT(words, HasSubstr("odds said came true"));
  EXPECT_THAT(
      words,
      HasSubstr("The odds have drifted, they are too high: 40 judgements said 0.86 on average, only 0.35 came true"));
  EXPECT_THAT(odds_in_words(out), HasSubstr("have drifted"));
}

TEST_F(Gather, lets_the_journal_show_that_the_odds_hold) {
  history_ = false;
  for (int n = 0; n < 60; ++n) keep_day(n, 0.8, n % 5 == 0 ? 1.1e6 : 1.6e6);
  const Review out = review(gathered(kDay, kDay + 59));
  EXPECT_EQ(out.reliability.drift, Drift::holds);
  EXPECT_DOUBLE_EQ(out.reliability.share, 0.8);
}

TEST_F(Gather, comes_to_the_same_verdict_by_bars_and_by_the_count_of_a_feed_with_a_part_of_the_tape) {
  // Sixty days on a feed that carries 30 % of the tape; of the odds said, 0.8, four in five come true.
  std::string bars = "date,open,high,low,close,volume\n";
  for (int n = 0; n < 60; ++n) {
    const double traded = n % 5 == 0 ? 1.1e6 : 1.6e6;
    bars += to_string(kDay + n) + ",50,52,49,51," + std::to_string(std::llround(traded)) + "\n";
    keep_day(n, 0.8, 0.3 * traded, 0.3);
  }
  write_bars(bars);
  for (const bool by_bars : {true, false}) {
    history_ = by_bars;
    const Review out = review(gathered(kDay, kDay + 59));
    EXPECT_EQ(out.crossings.at(1).official, by_bars);
    EXPECT_EQ(out.reliability.drift, Drift::holds) << in_words(out);
    EXPECT_DOUBLE_EQ(out.reliability.share, 0.8);
    EXPECT_EQ(out.weights.at(0).came.hits, 48);
    EXPECT_EQ(out.in_interval, 48);
  }
}

}  // namespace
}  // namespace brimwatch
