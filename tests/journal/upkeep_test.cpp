// A journal of many years: kept small, backed up while it is written, restored, looked through; and one of each released
// version, opened by this one. The formats are SQLite's: https://www.sqlite.org/fileformat2.html, and for copies of a
// database that is in use https://www.sqlite.org/howtocorrupt.html, section 1.2.
#include "journal/upkeep.h"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include "sample.h"

namespace brimwatch {
namespace {

using sample::kDay;
using sample::must;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

/// `days` days up to kDay with two notices each, of which the second day's last one is still being delivered.
void fill(Journal& journal, int days) {
  for (int d = 0; d < days; ++d) {
    const Date day = kDay - (days - 1 - d);
    JournalBatch batch;
    batch.day = day;
    batch.notices = {sample::notice(1, day), sample::notice(2, day)};
    batch.watches = {sample::watch_state("KLVN", day), sample::watch_state("NIVO", day)};
    batch.symbols = {sample::symbol_state("KLVN", day, d)};
    DayRecord record;
    record.symbol = "KLVN", record.day = day, record.volume = Shares::whole(d + 1);
    batch.days = {record};
    batch.holes = {{"main", "", Timestamp{day.days * kDayNanos}, Timestamp{day.days * kDayNanos + kHour}, "gone"}};
    must(journal.commit(batch, to_all({"mail"}), nullptr));
    JournalBatch told;
    for (const NoticeRecord& record_of : batch.notices) {
      if (d == 1 && record_of.notice.count == 2) continue;
      told.deliveries.push_back(
          {record_of.id, "mail", DeliveryState::delivered, 1, 0, {}, record_of.notice.time, {}, {}});
    }
    must(journal.commit(told));
  }
}

TEST(Upkeep, OldRowsGoByTheirKindAndWhatIsNotOverStays) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"));
  fill(*journal, 40);
  const JournalKeep keep{.notices = 30, .deliveries = 10, .day_records = 20, .holes = 5};
  const PrunedRows would = must(prune_journal(folder.file("j"), keep, kDay, true));
  EXPECT_EQ(must(journal->notices({})).size(), 80U) << "only counted";
  const PrunedRows gone = must(prune_journal(folder.file("j"), keep, kDay, false));
  EXPECT_EQ(gone.notices, 17) << "nine days of two, but for the one that is still being delivered";
  EXPECT_EQ(would.notices, gone.notices);
  EXPECT_EQ(would.holes, gone.holes);
  EXPECT_EQ(gone.deliveries, 40) << "of the twenty days between";
  EXPECT_EQ(gone.day_records, 19);
  const auto left = must(journal->notices({}));
  EXPECT_THAT(left, SizeIs(63));
  EXPECT_THAT(must(journal->open_deliveries()), SizeIs(1));
  EXPECT_THAT(must(journal->days("KLVN", kDay + 1, 1000)), SizeIs(21));
  EXPECT_THAT(must(journal->watch_states({})), SizeIs(2)) << "what the watches know stays";
  EXPECT_EQ(must(check_journal(folder.file("j"))), "");
  EXPECT_EQ(must(prune_journal(folder.file("j"), keep, kDay, false)).all(), 0) << "once is enough";
}

TEST(Upkeep, ForEverIsForEver) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"));
  fill(*journal, 3);
  EXPECT_EQ(must(prune_journal(folder.file("j"), {0, 0, 0, 0}, kDay + 30'000, false)).all(), 0);
}

TEST(Upkeep, ABackupIsWholeThoughTheLogIsNotWrittenBackYet) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"));
  fill(*journal, 5);
  ASSERT_TRUE(ended_uncleanly(folder.file("j"))) << "in use: what is new stands in the log";
  must(backup_journal(folder.file("j"), folder.file("b")));
  EXPECT_FALSE(std::filesystem::exists(folder.file("b-wal")));
  EXPECT_FALSE(std::filesystem::exists(folder.file("b.part")));
  struct stat info {};
  ASSERT_EQ(::stat(folder.file("b").c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777U, 0600U);
  const auto copy = sample::open(folder.file("b"));
  const auto ours = must(journal->notices({})), theirs = must(copy->notices({}));
  ASSERT_EQ(ours.size(), theirs.size());
  for (std::size_t i = 0; i < ours.size(); ++i) sample::expect_same(ours[i], theirs[i]);
  EXPECT_EQ(must(journal->watch_states({})), must(copy->watch_states({})));
  EXPECT_EQ(must(journal->open_deliveries()).size(), must(copy->open_deliveries()).size());
}

TEST(Upkeep, ABackupOverwritesNothing) {
  sample::Folder folder;
  fill(*sample::open(folder.file("j")), 1);
  sample::write_bytes(folder.file("letter"), "dear");
  const Status again = backup_journal(folder.file("j"), folder.file("letter"));
  ASSERT_FALSE(again);
  EXPECT_THAT(again.error().text, HasSubstr("is there already"));
  EXPECT_EQ(sample::bytes_of(folder.file("letter")), "dear");
  EXPECT_FALSE(backup_journal(folder.file("none"), folder.file("b")));
  EXPECT_FALSE(std::filesystem::exists(folder.file("b")));
}

TEST(Upkeep, ABackupComesBackWhereThereIsNoneAndNowhereElse) {
  sample::Folder folder;
  fill(*sample::open(folder.file("j")), 4);
  must(backup_journal(folder.file("j"), folder.file("b")));
  EXPECT_FALSE(restore_journal(folder.file("b"), folder.file("j"))) << "there is one";
  must(restore_journal(folder.file("b"), folder.file("new")));
  EXPECT_THAT(must(sample::open(folder.file("new"))->notices({})), SizeIs(8));
  sample::write_bytes(folder.file("other-wal"), "a log without its journal");
  EXPECT_FALSE(restore_journal(folder.file("b"), folder.file("other")));
}

TEST(Upkeep, ADamagedBackupIsNotRestored) {
  sample::Folder folder;
  fill(*sample::open(folder.file("j")), 4);
  must(backup_journal(folder.file("j"), folder.file("b")));
  std::string bytes = sample::bytes_of(folder.file("b"));
  for (std::size_t at = bytes.size() / 2; at < bytes.size() / 2 + 4096; ++at) bytes[at] = static_cast<char>(at * 7);
  sample::write_bytes(folder.file("b"), bytes);
  EXPECT_FALSE(restore_journal(folder.file("b"), folder.file("new")));
  EXPECT_FALSE(std::filesystem::exists(folder.file("new")));
}

TEST(Upkeep, AJournalThatWasClosedNeedsNoLook) {
  sample::Folder folder;
  fill(*sample::open(folder.file("j")), 1);
  EXPECT_FALSE(ended_uncleanly(folder.file("j")));
  EXPECT_FALSE(ended_uncleanly(folder.file("none")));
}

TEST(NewestStates, AreThoseOfTheScanOverAllVersions) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"));
  EXPECT_THAT(must(journal->watch_states({})), IsEmpty());
  for (int d = 0; d < 5; ++d) {
    JournalBatch batch;
    for (int i = d; i < 20; i += 1 + d % 3) {
      for (const std::int64_t pivot : {7, 11}) {
        WatchState state = sample::watch_state("S" + std::to_string(i), kDay + d);
        state.pivot = Price{pivot * 1'000'000};
        batch.watches.push_back(state);
      }
      batch.symbols.push_back(sample::symbol_state("S" + std::to_string(i), kDay + d, d));
    }
    must(journal->commit(batch));
  }
  EXPECT_EQ(must(journal->watch_states({})), must(journal->watch_states(kDay + 100)));
  EXPECT_EQ(must(journal->symbol_states({})), must(journal->symbol_states(kDay + 100)));
  EXPECT_THAT(must(journal->watch_states({})), SizeIs(40));
}

// One file of each version that was released, made by that version's own program from a small tape.
TEST(ReleasedJournals, EachIsOpenedAndBroughtUpToDate) {
  struct Released {
    const char* version;
    std::size_t notices, watches, symbols;
  };
  for (const Released& one : {Released{"0.1.0", 2, 1, 2}}) {
    sample::Folder folder;
    const std::string path = folder.file("j.db");
    std::filesystem::copy_file(std::string(BRIMWATCH_SOURCE_DIR "/tests/journal/released/") + one.version + ".db", path);
    const auto journal = sample::open(path);
    ASSERT_NE(journal, nullptr) << one.version;
    const auto notices = must(journal->notices({}));
    ASSERT_EQ(notices.size(), one.notices) << one.version;
    EXPECT_EQ(notices.front().id, "2026-10-14/KLVN/20.05/crossed/1") << one.version;
    EXPECT_EQ(must(journal->watch_states({})).size(), one.watches) << one.version;
    EXPECT_EQ(must(journal->symbol_states({})).size(), one.symbols) << one.version;
    EXPECT_EQ(journal->losses(), "") << one.version;
    EXPECT_THAT(must(journal->answers({}, {})), SizeIs(0)) << one.version;
    must(journal->commit([] {
      JournalBatch more;
      more.notices = {sample::notice(9)};
      more.answers = {sample::answer(AnswerKind::bought, 1)};
      return more;
    }()));
    EXPECT_THAT(must(journal->answers({}, {})), SizeIs(1)) << one.version;
    EXPECT_EQ(must(check_journal(path)), "") << one.version;
  }
}

}  // namespace
}  // namespace brimwatch
