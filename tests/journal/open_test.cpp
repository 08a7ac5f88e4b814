#include <gmock/gmock.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cstdio>

#include "sample.h"
#include "support/whole_file.h"

namespace brimwatch {
namespace {

using sample::must;
using testing::AllOf;
using testing::HasSubstr;

unsigned mode_of(const std::string& path) {
  struct stat info {};
  EXPECT_EQ(::stat(path.c_str(), &info), 0) << path;
  return info.st_mode & 0777;
}

void run_sql(const std::string& path, const char* sql) {
  sqlite3* raw = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &raw), SQLITE_OK);
  EXPECT_EQ(sqlite3_exec(raw, sql, nullptr, nullptr, nullptr), SQLITE_OK) << sqlite3_errmsg(raw);
  sqlite3_close(raw);
}

JournalBatch one_notice(int number) {
  JournalBatch batch;
  batch.notices.push_back(sample::notice(number));
  batch.watches.push_back(sample::watch_state("KLVN", sample::kDay));
  return batch;
}

std::string refusal(const Result<std::unique_ptr<Journal>>& journal) {
  EXPECT_FALSE(journal);
  return journal ? "" : journal.error().text;
}

TEST(OpenJournal, OneThatIsMovedAwayOrReplacedIsWrittenToNoMore) {
  sample::Folder folder;
  const std::string path = folder.file("j.db");
  const auto journal = sample::open(path);
  ASSERT_TRUE(journal->commit(one_notice(1)));
  ASSERT_EQ(std::rename(path.c_str(), folder.file("old.db").c_str()), 0);
  const Status gone = journal->commit(one_notice(2));
  ASSERT_FALSE(gone);
  EXPECT_THAT(gone.error().text, HasSubstr("moved away or replaced"));
  std::fclose(std::fopen(path.c_str(), "w"));
  EXPECT_FALSE(journal->commit(one_notice(2))) << "another file stands there now";
  ASSERT_EQ(std::rename(folder.file("old.db").c_str(), path.c_str()), 0);
  EXPECT_TRUE(journal->commit(one_notice(2)));
}

TEST(OpenJournal, MakesAFileForItsOwnerOnly) {
  sample::Folder folder;
  const std::string path = folder.file("deep/er/journal.db");
  auto journal = sample::open(path);
  must(journal->commit(one_notice(1)));
  EXPECT_EQ(mode_of(path), 0600U);
  EXPECT_EQ(mode_of(path + "-wal"), 0600U);
  EXPECT_EQ(mode_of(folder.file("deep/er")), 0700U);
}

TEST(OpenJournal, LeavesTheModeOfADirectoryThatWasThere) {
  sample::Folder folder;
  std::filesystem::create_directory(folder.file("shared"));
  ASSERT_EQ(::chmod(folder.file("shared").c_str(), 0750), 0);
  sample::open(folder.file("shared/j"));
  EXPECT_EQ(mode_of(folder.file("shared")), 0750U);
}

TEST(OpenJournal, TakesTheRightsOfOthersAway) {
  sample::Folder folder;
  sample::open(folder.file("j"));
  ASSERT_EQ(::chmod(folder.file("j").c_str(), 0644), 0);
  sample::open(folder.file("j"));
  EXPECT_EQ(mode_of(folder.file("j")), 0600U);
}

TEST(OpenJournal, TakesPathsWithAnyCharacter) {
  sample::Folder folder;
  const std::string path = folder.file("a?b#c%41 d\xC3\xA9");
  must(sample::open(path)->commit(one_notice(1)));
  EXPECT_TRUE(std::filesystem::exists(path));
  const std::filesystem::directory_iterator there(std::filesystem::path(path).parent_path());
  for (const auto& file : there) EXPECT_THAT(file.path().string(), testing::StartsWith(path)) << "and no other file";
  EXPECT_EQ(must(must(Journal::open_read_only(path))->notices({})).size(), 1U);
}

TEST(OpenJournal, RefusesANewerVersionAndLeavesItAlone) {
  sample::Folder folder;
  must(sample::open(folder.file("j"))->commit(one_notice(1)));
  run_sql(folder.file("j"), "PRAGMA user_version = 99");
  const std::string before = test::whole_file(folder.file("j"));
  EXPECT_THAT(refusal(Journal::open(folder.file("j"))),
              AllOf(HasSubstr("newer version"), HasSubstr("99"), HasSubstr("left alone")));
  EXPECT_THAT(refusal(Journal::open_read_only(folder.file("j"))), HasSubstr("newer version"));
  EXPECT_EQ(test::whole_file(folder.file("j")), before);
}

JournalBatch of_crossing(const NoticeRecord& crossed) {
  JournalBatch batch;
  batch.notices.push_back(crossed);
  return batch;
}

TEST(OpenJournal, TellsOfADamagedCrossingAndGivesItsNotice) {
  sample::Folder folder;
  auto crossed = sample::notice(1);
  crossed.notice.volume.minutes = 12;
  {
    auto journal = sample::open(folder.file("j"));
    must(journal->commit(of_crossing(crossed)));
  }
  run_sql(folder.file("j"), "UPDATE crossings SET lift = 0.5");
  auto journal = must(Journal::open_read_only(folder.file("j")));
  const auto notices = must(journal->notices({}));
  ASSERT_EQ(notices.size(), 1U);
  EXPECT_EQ(notices[0].notice.volume.minutes, -1);
  EXPECT_EQ(notices[0].notice.volume.lift, 0);
  EXPECT_EQ(journal->damaged(), 1U);
}

TEST(OpenJournal, BringsAnOlderOneThatHasNoCrossingsUpToDateWhenItWrites) {
  sample::Folder folder;
  {
    auto journal = sample::open(folder.file("j"));
    must(journal->commit(one_notice(1)));
  }
  run_sql(
      folder.file("j"),
      "DROP TABLE newest_days; DROP TABLE newest_watches; DROP TABLE newest_symbols; DROP INDEX notices_by_symbol; "
      "DROP INDEX holes_by_end; DROP TABLE speakers; DROP TABLE answers; DROP TABLE recipients; DROP TABLE crossings; "
      "PRAGMA user_version = 1");
  const auto read_only = Journal::open_read_only(folder.file("j"));
  ASSERT_FALSE(read_only);
  EXPECT_THAT(read_only.error().text, HasSubstr("an older version"));
  auto journal = sample::open(folder.file("j"));
  auto crossed = sample::notice(2);
  crossed.notice.volume.minutes = 12;
  must(journal->commit(of_crossing(crossed)));
  const auto notices = must(journal->notices({}));
  ASSERT_EQ(notices.size(), 2U);
  EXPECT_EQ(notices[0].notice.volume.minutes, -1);
  EXPECT_EQ(notices[1].notice.volume.minutes, 12);
}

// What a killed daemon of the newer version had in its log is that version's to take in.
TEST(OpenJournal, LeavesTheLogOfANewerVersionAloneToo) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j"));
  run_sql(folder.file("j"), "PRAGMA user_version = 99");
  must(journal->commit(one_notice(1)));
  for (const char* end : {"", "-wal"})
    sample::write_bytes(folder.file("k") + end, test::whole_file(folder.file("j") + end));
  const std::string before = test::whole_file(folder.file("k")), log = test::whole_file(folder.file("k-wal"));
  ASSERT_FALSE(log.empty());
  EXPECT_THAT(refusal(Journal::open(folder.file("k"))), HasSubstr("newer version"));
  EXPECT_EQ(test::whole_file(folder.file("k")), before);
  EXPECT_EQ(test::whole_file(folder.file("k-wal")), log);
}

TEST(OpenJournal, RefusesTheDatabaseOfAnotherProgram) {
  sample::Folder folder;
  run_sql(folder.file("j"), "CREATE TABLE theirs (x)");
  const std::string before = test::whole_file(folder.file("j"));
  EXPECT_THAT(refusal(Journal::open(folder.file("j"))), HasSubstr("another program"));
  EXPECT_EQ(test::whole_file(folder.file("j")), before);
}

TEST(OpenJournal, RefusesWhatIsNoDatabase) {
  sample::Folder folder;
  sample::write_bytes(folder.file("j"), "a diary, but not ours");
  EXPECT_THAT(refusal(Journal::open(folder.file("j"))), HasSubstr("is not a journal"));
  EXPECT_EQ(test::whole_file(folder.file("j")), "a diary, but not ours");
  EXPECT_THAT(refusal(Journal::open(folder.file("."))), HasSubstr("not a regular file"));
  EXPECT_THAT(refusal(Journal::open("")), HasSubstr("no path"));
}

// SQLite's file format, 1.3: sixteen bytes of a name, then the size of a page in two bytes; 0 is none.
TEST(OpenJournal, RefusesAHeaderThatEndsOrSaysNoPage) {
  const std::string name("SQLite format 3\0", 16);
  for (const std::string& bytes : {name, name + '\x10', name + std::string(84, '\0')}) {
    sample::Folder folder;
    sample::write_bytes(folder.file("j"), bytes);
    EXPECT_THAT(refusal(Journal::open(folder.file("j"))), AllOf(HasSubstr("damaged"), HasSubstr("cut off")));
    sample::write_bytes(folder.file("j-wal"), "something");
    EXPECT_THAT(refusal(Journal::open(folder.file("j"))), AllOf(HasSubstr("damaged"), HasSubstr("cut off")));
    EXPECT_EQ(test::whole_file(folder.file("j")), bytes);
  }
}

TEST(OpenJournal, RefusesAnEmptyFileWithALogBesideIt) {
  sample::Folder folder;
  sample::write_bytes(folder.file("j"), "");
  sample::write_bytes(folder.file("j-wal"), "something");
  EXPECT_THAT(refusal(Journal::open(folder.file("j"))), AllOf(HasSubstr("damaged"), HasSubstr("Move it aside")));
  EXPECT_EQ(test::whole_file(folder.file("j-wal")), "something");
}

TEST(OpenJournal, TakesAnEmptyFileAsANewOne) {
  sample::Folder folder;
  sample::write_bytes(folder.file("j"), "");
  must(sample::open(folder.file("j"))->commit(one_notice(1)));
}

TEST(OpenJournal, SaysWhereADirectoryCannotBeMade) {
  sample::Folder folder;
  sample::write_bytes(folder.file("file"), "x");
  EXPECT_THAT(refusal(Journal::open(folder.file("file/j"))), HasSubstr(folder.file("file/j")));
}

TEST(OpenJournal, ReadingMakesNothing) {
  sample::Folder folder;
  EXPECT_THAT(refusal(Journal::open_read_only(folder.file("j"))), HasSubstr("there is none"));
  EXPECT_FALSE(std::filesystem::exists(folder.file("j")));
  sample::write_bytes(folder.file("j"), "");
  EXPECT_THAT(refusal(Journal::open_read_only(folder.file("j"))), HasSubstr("nothing has been written"));
}

/// By another process, which is the last to close the file as far as it can see.
std::string asked_by_another(const std::string& path, const std::string& sql) {
  const std::string command = "sqlite3 '" + path + "' '" + sql + "'";
  FILE* const out = ::popen(command.c_str(), "r");
  std::array<char, 64> text{};
  const std::size_t size = std::fread(text.data(), 1, text.size(), out);
  EXPECT_EQ(::pclose(out), 0) << command;
  return {text.data(), size};
}

// A second look at the journal in one process must not take the locks of the first: another program would then throw
// away the log that the first goes on writing to (SQLite, "How To Corrupt An SQLite Database File", section 2.2).
TEST(OpenJournal, AVisitInTheSameProcessTakesNoLocksAway) {
  sample::Folder folder;
  const std::string path = folder.file("j");
  auto writer = sample::open(path);
  must(writer->commit(one_notice(1)));
  { const auto visit = sample::open(path, {.check = false}); }
  { const auto reader = must(Journal::open_read_only(path)); }
  EXPECT_EQ(asked_by_another(path, "SELECT count(*) FROM notices"), "1\n");
  must(writer->commit(one_notice(2)));
  EXPECT_EQ(asked_by_another(path, "SELECT count(*) FROM notices"), "2\n");
}

TEST(OpenJournal, CanBeReadWhileItIsWritten) {
  sample::Folder folder;
  auto writer = sample::open(folder.file("j"));
  must(writer->commit(one_notice(1)));
  auto reader = must(Journal::open_read_only(folder.file("j")));
  EXPECT_EQ(must(reader->notices({})).size(), 1U);
  must(writer->commit(one_notice(2)));
  EXPECT_EQ(must(reader->notices({})).size(), 2U);
  EXPECT_FALSE(reader->commit(one_notice(3))) << "a reader writes nothing";
}

TEST(OpenJournal, WhereOnlyItsLogIsLeftNoneIsMade) {
  sample::Folder folder;
  const std::string path = folder.file("j.db");
  auto journal = sample::open(path);
  must(journal->commit(one_notice(1)));
  ASSERT_EQ(std::rename(path.c_str(), folder.file("old.db").c_str()), 0);
  EXPECT_THAT(refusal(Journal::open(path)), HasSubstr("is not there, but its write-ahead log is (j.db-wal)"));
  EXPECT_FALSE(std::filesystem::exists(path));
  journal->abandon();
  journal.reset();
  ASSERT_EQ(std::rename(folder.file("old.db").c_str(), path.c_str()), 0);
  EXPECT_EQ(must(sample::open(path)->notices({})).size(), 1U);
}

TEST(OpenJournal, AVisitMakesNone) {
  sample::Folder folder;
  EXPECT_THAT(refusal(Journal::open(folder.file("j.db"), {.create = false})), HasSubstr("there is none"));
  EXPECT_FALSE(std::filesystem::exists(folder.file("j.db")));
}

// The first column of "PRAGMA wal_checkpoint" is 1 where the log could not begin anew
// (https://www.sqlite.org/pragma.html#pragma_wal_checkpoint).
TEST(OpenJournal, AfterAFailedWriteItIsNotOpenedWhileAnotherReadsOnInTheOldLog) {
  sample::Folder folder;
  const std::string path = folder.file("j");
  auto writer = sample::open(path);
  must(writer->commit(one_notice(1)));
  auto reader = must(Journal::open_read_only(path));
  const JournalOptions visit{.busy_timeout_ms = 0}, after_error{.after_error = true, .busy_timeout_ms = 0};
  must(reader->each_notice({}, [&](const NoticeRecord&) {  // it stands in the log as it is now
    must(writer->commit(one_notice(2)));
    writer->abandon();
    writer.reset();
    EXPECT_TRUE(Journal::open(path, visit)) << "what a crash has left may be read on meanwhile";
    EXPECT_THAT(refusal(Journal::open(path, after_error)), HasSubstr("another program is still reading it"));
    return true;
  }));
  EXPECT_EQ(must(must(Journal::open(path, after_error))->notices({})).size(), 2U);
}

// https://www.sqlite.org/howtocorrupt.html, section 2.5: under two names it has two logs.
TEST(OpenJournal, OneWithTwoNamesIsLeftAlone) {
  sample::Folder folder;
  const std::string path = folder.file("journal.db"), second = folder.file("second.db");
  { const auto journal = sample::open(path); }
  ASSERT_EQ(::link(path.c_str(), second.c_str()), 0);
  for (const std::string& name : {path, second})
    EXPECT_THAT(refusal(Journal::open(name)), HasSubstr("has a second name (a hard link)"));
  EXPECT_TRUE(Journal::open_read_only(path)) << "to read it harms nothing";
  ASSERT_EQ(::unlink(second.c_str()), 0);
  EXPECT_TRUE(Journal::open(path));
}

}  // namespace
}  // namespace brimwatch
