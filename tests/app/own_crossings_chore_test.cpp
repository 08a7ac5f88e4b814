// The evening's chore of a new month: what the journal's own crossings have taught is learned once, kept beside the
// curves, and left alone until the next month.
#include <gmock/gmock.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "../evening/record.h"
#include "app/evening_review.h"
#include "journal/journal.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;
using testing_support::counted;
using testing_support::crossing;
using testing_support::kDay;
using testing_support::price;

class OwnCrossingsChore : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::path(::testing::TempDir()) / ("own_crossings_" + std::to_string(::getpid()));
    fs::create_directories(folder_);
    settings_.history.learned = (folder_ / "curves.toml").string();
    auto journal = Journal::open(path());
    ASSERT_TRUE(journal);
    for (int i = 0; i < 60; ++i) ASSERT_TRUE((*journal)->commit(day_with_a_crossing(kDay + i)));
  }
  void TearDown() override { fs::remove_all(folder_); }

  /// 1.6 million shares were said at minute 30, 1.75 million came.
  static JournalBatch day_with_a_crossing(Date day) {
    JournalBatch batch;
    batch.notices = {crossing(Weight::heavy, .9, day)};
    VolumeView& said = batch.notices[0].notice.volume;
    said.so_far = Shares::whole(300'000), said.minutes = 30, said.gap = .5, said.lift = .04;
    DayRecord record = counted(1'750'000, price(51));
    record.day = day, record.symbol = "KLVN", record.coverage = 1;
    batch.days = {record};
    return batch;
  }
  [[nodiscard]] std::string path() const { return (folder_ / "journal.db").string(); }
  [[nodiscard]] fs::path file() const { return folder_ / "curves-crossings.csv"; }
  OwnLifts renewed(Date since) {
    auto out = renew_own_lifts(path(), settings_, since);
    EXPECT_TRUE(out) << (out ? "" : out.error().text);
    return out ? *out : OwnLifts{};
  }

  fs::path folder_;
  Settings settings_;
};

TEST_F(OwnCrossingsChore, LearnsOnceAMonthAndKeepsWhatEachTaught) {
  const Date april = Date::of(2026, 4, 17), may = Date::of(2026, 5, 2);
  ASSERT_EQ(renewed(april).size(), 1U);
  EXPECT_TRUE(renewed(april + 1).empty()) << "nothing new till the month ends";
  const OwnLifts both = renewed(may);
  ASSERT_EQ(both.size(), 2U);
  EXPECT_EQ(both[0].since, april);
  EXPECT_EQ(both[1].since, may);
  EXPECT_GT(both[1].lift, .01) << "more came than was said";
  EXPECT_EQ(*read_own_lifts(file().string()), both);
}

TEST_F(OwnCrossingsChore, ADamagedFileIsSaidAndNotWrittenOver) {
  std::ofstream(file()) << "since,lift\n2026-13-01,much\n";
  const auto out = renew_own_lifts(path(), settings_, kDay + 60);
  ASSERT_FALSE(out);
  EXPECT_THAT(out.error().text, HasSubstr("curves-crossings.csv:"));
  std::ifstream in(file());
  EXPECT_EQ(std::string(std::istreambuf_iterator<char>(in), {}), "since,lift\n2026-13-01,much\n");
}

TEST_F(OwnCrossingsChore, AJournalThatCannotBeReadIsSaidAndLeavesNothing) {
  fs::remove(path());
  EXPECT_FALSE(renew_own_lifts(path(), settings_, kDay + 60));
  EXPECT_FALSE(fs::exists(file()));
}

}  // namespace
}  // namespace brimwatch
