// A journal of many years: kept small, backed up while it is written, restored, looked through; and one of each released
// version, opened by this one. The formats are SQLite's: https://www.sqlite.org/fileformat2.html, and for copies of a
// database that is in use https://www.sqlite.org/howtocorrupt.html, section 1.2.
#include "journal/upkeep.h"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include "journal/prune.h"
#include "journal/schema.h"
#include "sample.h"
#include "support/whole_file.h"

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
  const PrunedRows would = must(prune_journal(folder.file("j"), keep, kDay, {.dry = true}));
  EXPECT_EQ(must(journal->notices({})).size(), 80U) << "only counted";
  const PrunedRows gone = must(prune_journal(folder.file("j"), keep, kDay));
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
  EXPECT_EQ(must(prune_journal(folder.file("j"), keep, kDay)).all(), 0) << "once is enough";
}

TEST(Upkeep, OfOldStatesTheNewestStaysAndWhatIsSaidToBeExactIsNarrowed) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"), {.days_kept = 1'000'000});
  fill(*journal, 40);
  const auto newest = must(journal->watch_states({}));
  const JournalKeep keep{0, 0, 0, 0, 10};
  const auto would = must(prune_journal(folder.file("j"), keep, kDay, {.dry = true}));
  EXPECT_TRUE(journal->watch_states(kDay - 30)) << "only counted";
  const auto gone = must(prune_journal(folder.file("j"), keep, kDay));
  EXPECT_EQ(gone.states, 3 * 28)
      << "of two watches and a symbol: 40 days, but for the ten that stay and the one before them";
  EXPECT_EQ(would.states, gone.states);
  EXPECT_EQ(must(journal->watch_states({})), newest);
  EXPECT_FALSE(journal->watch_states(kDay - 30)) << "not to be had any more, and it says so";
  EXPECT_TRUE(journal->watch_states(kDay - 10));
}

TEST(Upkeep, AnswersAndWhoHasTheMailNeverGo) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"));
  fill(*journal, 3);
  JournalBatch said;
  said.answers = {sample::answer(AnswerKind::bought, 1, kDay - 2), sample::answer(AnswerKind::add, 2, kDay - 2),
                  sample::answer(AnswerKind::mute, 3, kDay - 2)};
  const auto open = must(journal->open_deliveries());
  ASSERT_THAT(open, SizeIs(1));
  DeliveryRow half = open[0].row;
  half.taken_by = {"anna@example.org"};
  said.deliveries = {half};
  must(journal->commit(said));
  must(prune_journal(folder.file("j"), {1, 1, 1, 1, 1}, kDay + 10'000));
  EXPECT_THAT(must(journal->answers({}, {})), SizeIs(3));
  const auto still = must(journal->open_deliveries());
  ASSERT_THAT(still, SizeIs(1));
  EXPECT_THAT(still[0].row.taken_by, testing::ElementsAre("anna@example.org"));
  EXPECT_THAT(must(journal->notices({})), SizeIs(1)) << "that one's notice";
  EXPECT_THAT(must(journal->watch_states({})), SizeIs(2));
}

TEST(Upkeep, GoesInStepsAndStopsBetweenTwoWhenAsked) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"));
  JournalBatch many;
  for (int i = 0; i < 9000; ++i)
    many.holes.push_back({"main", "S" + std::to_string(i), Timestamp{kHour}, Timestamp{2 * kHour}, "x"});
  must(journal->commit(many));
  int steps = 0;
  const auto some = must(prune_journal(folder.file("j"), {0, 0, 0, 1, 0}, kDay, {.go_on = [&] {
                                         JournalBatch meanwhile;  // whoever writes finds room between two steps
                                         meanwhile.notices = {sample::notice(++steps)};
                                         must(journal->commit(meanwhile));
                                         return steps < 3;
                                       }}));
  EXPECT_FALSE(some.finished);
  EXPECT_EQ(steps, 3);
  EXPECT_EQ(some.holes, 3 * 500);
  const auto rest = must(prune_journal(folder.file("j"), {0, 0, 0, 1, 0}, kDay));
  EXPECT_TRUE(rest.finished);
  EXPECT_EQ(some.holes + rest.holes, 9000);
  EXPECT_THAT(must(journal->notices({})), SizeIs(3));
}

TEST(Upkeep, ForEverIsForEver) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"));
  fill(*journal, 3);
  EXPECT_EQ(must(prune_journal(folder.file("j"), {0, 0, 0, 0, 0}, kDay + 30'000)).all(), 0);
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
  EXPECT_EQ(test::whole_file(folder.file("letter")), "dear");
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

// https://www.sqlite.org/howtocorrupt.html, section 1.2: a copy of the file alone lacks what stands in the log.
TEST(Upkeep, APlainCopyIsNoBackupAndSaysSo) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"));
  fill(*journal, 4);
  std::filesystem::copy_file(folder.file("j"), folder.file("copy"));
  const Status refused = restore_journal(folder.file("copy"), folder.file("new"));
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().text, HasSubstr("a plain copy"));
  EXPECT_FALSE(std::filesystem::exists(folder.file("new")));
  sample::Folder closed;
  fill(*sample::open(closed.file("j")), 4);  // all is in the one file then
  std::filesystem::copy_file(closed.file("j"), closed.file("copy"));
  EXPECT_THAT(restore_journal(closed.file("copy"), closed.file("new")).error().text, HasSubstr("--plain-copy"));
  must(restore_journal(closed.file("copy"), closed.file("new"), true));
  EXPECT_THAT(must(sample::open(closed.file("new"))->notices({})), SizeIs(8));
}

TEST(Upkeep, ADamagedBackupIsNotRestored) {
  sample::Folder folder;
  fill(*sample::open(folder.file("j")), 4);
  must(backup_journal(folder.file("j"), folder.file("b")));
  std::string bytes = test::whole_file(folder.file("b"));
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

// Which schema each of them has, and what it was the first to keep. 0.1.0.db was written by that program from a small
// tape; the later ones are made from it by the statements of their versions (released/make.py).
struct Released {
  const char* file;
  bool deliveries, crossing, recipient, speaker, answer;
};
constexpr Released kReleased[] = {{"0.1.0.db", false, false, false, false, false},
                                  {"schema-2.db", true, true, false, false, false},
                                  {"schema-3.db", true, true, true, false, false},
                                  {"schema-4.db", true, true, true, true, false},
                                  {"schema-5.db", true, true, true, true, true}};
constexpr const char* kCrossed = "2026-10-14/KLVN/20.05/crossed/1";

struct ReleasedJournals : testing::TestWithParam<Released> {
  void SetUp() override {
    std::filesystem::copy_file(std::string(BRIMWATCH_SOURCE_DIR "/tests/journal/released/") + GetParam().file, path);
  }
  sample::Folder folder;
  const std::string path = folder.file("j.db");
};

TEST_P(ReleasedJournals, ComesUpWithAllItsRows) {
  const Released& one = GetParam();
  const auto journal = sample::open(path);
  ASSERT_NE(journal, nullptr);
  const auto notices = must(journal->notices({}));
  ASSERT_EQ(notices.size(), 2U);
  EXPECT_EQ(notices.front().id, kCrossed);
  EXPECT_EQ(notices.front().notice.volume.minutes, one.crossing ? 12.5 : -1);
  EXPECT_EQ(must(journal->watch_states({})).size(), 1U);
  EXPECT_EQ(must(journal->symbol_states({})).size(), 2U);
  EXPECT_THAT(must(journal->deliveries(kCrossed)), SizeIs(one.deliveries ? 1 : 0));
  EXPECT_EQ(must(journal->acknowledged(kCrossed)), one.deliveries);
  const auto open = must(journal->open_deliveries());
  ASSERT_THAT(open, SizeIs(one.deliveries ? 1 : 0));
  if (one.deliveries) {
    EXPECT_THAT(open[0].row.taken_by, SizeIs(one.recipient ? 1 : 0));
  }
  EXPECT_EQ(must(journal->speaker(kCrossed)), one.speaker ? "left" : "");
  const auto answers = must(journal->answers({}, {}));
  ASSERT_THAT(answers, SizeIs(one.answer ? 1 : 0));
  if (one.answer) {
    EXPECT_EQ(answers[0].kind, AnswerKind::bought);
  }
  EXPECT_EQ(journal->losses(), "");
  EXPECT_EQ(journal->damaged(), 0U);
}

TEST_P(ReleasedJournals, IsWrittenToAfterwards) {
  const auto journal = sample::open(path);
  JournalBatch more;
  more.notices = {sample::notice(9)};
  more.answers = {sample::answer(AnswerKind::bought, 1)};
  must(journal->commit(more));
  EXPECT_THAT(must(journal->answers({}, {})), SizeIs(GetParam().answer ? 2 : 1));
  EXPECT_THAT(must(journal->notices({})), SizeIs(3));
  EXPECT_EQ(must(check_journal(path)), "");
}

// Its user upgrades after the machine was lost: the only backup is of the older program.
TEST_P(ReleasedJournals, ABackupOfThatVersionIsRestoredByThisOne) {
  must(backup_journal(path, folder.file("b")));
  must(restore_journal(folder.file("b"), folder.file("new")));
  EXPECT_THAT(must(sample::open(folder.file("new"))->notices({})), SizeIs(2));
}

INSTANTIATE_TEST_SUITE_P(EachVersion, ReleasedJournals, testing::ValuesIn(kReleased), [](const auto& version) {
  std::string name = version.param.file;
  std::erase_if(name, [](char c) { return std::isalnum(static_cast<unsigned char>(c)) == 0; });
  return name;
});

// Whoever raises the version adds the journal of the one before it.
TEST(ReleasedFiles, ThereIsOneOfEachVersionBeforeThisOne) {
  EXPECT_EQ(std::size(kReleased), static_cast<std::size_t>(schema_version() - 1));
}

}  // namespace
}  // namespace brimwatch
