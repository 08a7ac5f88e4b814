// From a journal on disk and files of daily bars to a review: what the evening works on, and the audit of the odds.
#include "evening/gather.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "bars/daily_text.h"
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
    ReviewSources sources{history_ ? (folder_ / "history").string() : "", {}, std::move(events)};
    sources.sessions = sessions_;
    auto out = gather(*journal_, sources, span);
    EXPECT_TRUE(out) << (out ? "" : out.error().text);
    remarks_ = out ? out->remarks : std::vector<std::string>{};
    return out ? std::move(out->input) : ReviewInput{};
  }

  fs::path folder_;
  std::unique_ptr<Journal> journal_;
  std::vector<std::string> remarks_;
  std::vector<Date> sessions_;
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

/// Thirty days before the crossing and forty after it, none like the other; the crossing's own trades 1.5 million.
std::vector<DailyBar> uneven_days() {
  std::vector<DailyBar> out;
  for (int i = -30; i <= 40; ++i) {
    const double close = 50.5 + 0.3 * std::sin(i * 0.7), volume = i == 0 ? 1.5e6 : 1e6 + 7919 * ((i + 40) % 37);
    out.push_back(testing_support::bar(kDay + i, std::round(close * 100 - 20) / 100, std::round(close * 100 + 50) / 100,
                                       std::round(close * 100 - 60) / 100, std::round(close * 100) / 100, volume));
  }
  return out;
}

/// The same with one thing wrong, from the day `at` days after the crossing on.
class DoubtfulBars : public Gather {
 protected:
  DoubtfulBars() { keep_.symbol = "KLVN"; }
  DailyBar& day(int after) { return bars_[static_cast<std::size_t>(30 + after)]; }
  Crossing reviewed() {
    keep_day(0, 0.9, 1.45e6);
    keep_.bars = bars_;
    write_bars(daily_text(keep_));
    const Review out = review(gathered(kDay, kDay));
    EXPECT_EQ(out.crossings.size(), 1U);
    words_ = flat(in_words(out));
    return out.crossings.empty() ? Crossing{} : out.crossings[0];
  }

  std::vector<DailyBar> bars_ = uneven_days();
  DailySeries keep_;
  std::string words_;
};

TEST_F(DoubtfulBars, sound_ones_judge_all_that_there_is_to_judge) {
  const Crossing one = reviewed();
  EXPECT_TRUE(one.official);
  EXPECT_TRUE(one.after[2]);
  EXPECT_EQ(one.doubt, "");
  EXPECT_THAT(remarks_, ::testing::IsEmpty());
  EXPECT_THAT(words_, ::testing::Not(HasSubstr("doubtful")));
}

// 61.00 is 20 % above 50.20: one print would make it a winner.
TEST_F(DoubtfulBars, a_spike_makes_no_winner_and_what_follows_it_is_not_judged) {
  day(3).high = price(61);
  const Crossing one = reviewed();
  EXPECT_TRUE(one.official);
  EXPECT_EQ(*one.came, true);
  EXPECT_TRUE(one.after[0]) << "one session after is sound";
  EXPECT_FALSE(one.after[1]);
  EXPECT_FALSE(one.after[2]);
  EXPECT_FALSE(one.first);
  EXPECT_TRUE(one.followed.open);
  EXPECT_EQ(one.followed.sold_on, kDay + 2);
  EXPECT_THAT(words_, HasSubstr("its daily bars are doubtful (a price of 61.00 on 2026-03-05"));
  EXPECT_THAT(words_, HasSubstr("5 sessions: not judged"));
  EXPECT_THAT(remarks_, Contains(HasSubstr("nothing is judged by them")));
}

TEST_F(DoubtfulBars, one_of_the_crossings_own_day_leaves_the_feeds_own_count) {
  day(0).low = price(31);
  const Crossing one = reviewed();
  EXPECT_FALSE(one.official);
  EXPECT_DOUBLE_EQ(*one.volume, 1.45e6);
  EXPECT_EQ(*one.close, price(51)) << "the feed's";
  EXPECT_THAT(words_, HasSubstr("by the feed's own count"));
}

TEST_F(DoubtfulBars, a_split_that_nobody_told_ends_what_can_be_said) {
  for (int i = 6; i <= 40; ++i) {
    for (Price* p : {&day(i).open, &day(i).high, &day(i).low, &day(i).close}) p->micros /= 2;
    day(i).volume *= 2;
  }
  const Crossing one = reviewed();
  EXPECT_TRUE(one.after[1]);
  EXPECT_FALSE(one.after[2]);
  EXPECT_FALSE(one.first) << "half the price is no fall of 8 %";
  EXPECT_FALSE(one.followed.at_limit);
  EXPECT_THAT(words_, HasSubstr("an unreported 2:1 split?"));
}

TEST_F(DoubtfulBars, a_session_without_a_row_makes_twenty_of_nineteen) {
  for (const DailyBar& bar : bars_) sessions_.push_back(bar.day);
  bars_.erase(bars_.begin() + 30 + 8);
  const Crossing one = reviewed();
  EXPECT_TRUE(one.after[1]);
  EXPECT_FALSE(one.after[2]);
  EXPECT_THAT(words_, HasSubstr("no row on 2026-03-10"));
}

TEST_F(DoubtfulBars, a_day_without_volume_is_left_out_and_said) {
  day(0).volume = 0;
  const Crossing one = reviewed();
  EXPECT_FALSE(one.official);
  EXPECT_DOUBLE_EQ(*one.volume, 1.45e6);
  EXPECT_THAT(remarks_, Contains(HasSubstr("no volume on 2026-03-02; left out")));
}

TEST_F(DoubtfulBars, an_old_fault_matters_to_no_later_crossing) {
  day(-10).high = price(90);
  EXPECT_EQ(reviewed().doubt, "");
}

TEST_F(Gather, says_which_rows_could_not_be_read) {
  keep_day(0, 0.9, 1.2e6);
  write_bars("date,open,high,low,close,volume\n2026-03-02,50,52,49,51.5,1500000\n2026-03-03,x,53,50,52,1000000\n");
  static_cast<void>(gathered(kDay, kDay));
  EXPECT_THAT(remarks_, Contains(HasSubstr("KLVN.csv:3:12")));
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
