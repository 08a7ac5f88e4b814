// A journal cut off at any byte, or with a bit turned: it is detected, or what is read is what was written; and the sound
// part can be read. By default a sample of places; BRIMWATCH_ALL=1 takes every one.
#include <gmock/gmock.h>

#include <random>

#include "story.h"
#include "support/how_much.h"
#include "support/whole_file.h"

namespace brimwatch {
namespace {

bool same(const NoticeRecord& a, const NoticeRecord& b) {
  return a.id == b.id && a.text == b.text && a.title == b.title && a.note == b.note && a.symbol == b.symbol &&
         a.notice.time == b.notice.time && a.notice.price == b.notice.price &&
         a.notice.volume.odds == b.notice.volume.odds && a.notice.volume.projected == b.notice.volume.projected &&
         a.notice.detail == b.notice.detail;
}

/// Reads what can be read; every row must be one that was written, and missing ones must be told.
void read_sound_part(Journal& journal, const std::string& where) {
  int count = 0;
  const Status status = journal.each_notice({}, [&](const NoticeRecord& record) {
    ++count;
    const int number = record.notice.count;
    EXPECT_TRUE(number >= 1 && number <= story::kCommits && same(record, sample::notice(number)))
        << where << ": " << record.id;
    return true;
  });
  EXPECT_TRUE(!status || !journal.losses().empty() || count == story::kCommits)
      << where << ": " << count << " notices, and nothing said about the others";
  const auto states = journal.watch_states({});
  if (!states) return;
  EXPECT_TRUE(states->size() == 1 || !journal.losses().empty()) << where << ": a state is missing without a word";
  for (const WatchState& state : *states) EXPECT_EQ(state.crossing_time, Timestamp{story::kCommits}) << where;
}

struct Damage : testing::Test {
  Damage() {
    story::tell(folder.file("j"), {}, 1);
    whole = test::whole_file(folder.file("j"));
  }
  /// Returns whether anything was refused or found damaged.
  bool look(const std::string& bytes, const std::string& where) {
    sample::write_bytes(folder.file("d"), bytes);
    bool found = false;
    if (auto reader = Journal::open_read_only(folder.file("d"))) {
      read_sound_part(**reader, where + ", read only");
      found = !(*reader)->losses().empty();
    } else {
      EXPECT_FALSE(reader.error().text.empty());
      found = true;
    }
    if (auto writer = Journal::open(folder.file("d"))) {
      read_sound_part(**writer, where);
      found |= (*writer)->damaged() > 0;
      writer->reset();
    } else {
      EXPECT_EQ(test::whole_file(folder.file("d")), bytes) << where << ": a refused journal is left as it is";
      found = true;
    }
    for (const char* beside : {"d-wal", "d-shm", "d"}) std::filesystem::remove(folder.file(beside));
    return found;
  }
  sample::Folder folder;
  std::string whole;
};

TEST_F(Damage, CutOffAnywhereIsDetected) {
  const std::size_t step = test::everywhere() ? 1 : 211;
  for (std::size_t size = 1; size < whole.size() && !HasFailure(); size += step) {
    EXPECT_TRUE(look(whole.substr(0, size), "cut off at byte " + std::to_string(size)));
  }
}

TEST_F(Damage, ATurnedBitIsNeverReadAsAFact) {
  std::mt19937_64 random(11);
  const std::size_t bits = whole.size() * 8;
  const std::size_t trials = test::everywhere() ? bits : 1500;
  std::size_t found = 0;
  for (std::size_t i = 0; i < trials && !HasFailure(); ++i) {
    const std::size_t bit = test::everywhere() ? i : random() % bits;
    std::string bytes = whole;
    bytes[bit / 8] = static_cast<char>(bytes[bit / 8] ^ (1 << (bit % 8)));
    found += look(bytes, "bit " + std::to_string(bit)) ? 1 : 0;
  }
  EXPECT_GT(found, 0U);  // the others stand in bytes that hold nothing
}

// A page that says it has fewer rows: each row that is left is sound. SQLite's file format (sqlite.org/fileformat2.html,
// section 1.6): the number of cells is the big-endian number at offset 3 of a page's header.
TEST_F(Damage, RowsThatAPageNoLongerNamesAreMissed) {
  constexpr std::size_t kPage = 4096, kCells = 4;
  ASSERT_EQ(whole.size() % kPage, 0U);
  for (std::size_t page = 1; page < whole.size() / kPage && !HasFailure(); ++page) {
    for (int bit = 0; bit < 8; ++bit) {
      std::string bytes = whole;
      bytes[page * kPage + kCells] = static_cast<char>(bytes[page * kPage + kCells] ^ (1 << bit));
      EXPECT_TRUE(look(bytes, "page " + std::to_string(page) + ", bit " + std::to_string(bit)));
    }
  }
  std::string bytes = whole;
  bytes[kPage + kCells] = static_cast<char>(bytes[kPage + kCells] ^ 1);
  sample::write_bytes(folder.file("d"), bytes);
  const auto writer = Journal::open(folder.file("d"));
  ASSERT_FALSE(writer);
  EXPECT_EQ(writer.error().text.find('\n'), std::string::npos) << "one line: " << writer.error().text;
  EXPECT_THAT(sample::must(Journal::open_read_only(folder.file("j")))->losses(), testing::IsEmpty());
}

/// The write-ahead log of a program that was killed: what is whole at its beginning counts.
TEST_F(Damage, ALogThatIsCutOffOrTurnedGivesTheCommitsBeforeThat) {
  auto journal = sample::open(folder.file("live"));
  for (int number = 1; number <= 4; ++number)
    sample::must(journal->commit(story::batch(number), to_all({"mail"}), nullptr));
  const std::string base = test::whole_file(folder.file("live")), log = test::whole_file(folder.file("live-wal"));
  std::mt19937_64 random(5);
  for (int i = 0; i < (test::everywhere() ? 20'000 : 400) && !HasFailure(); ++i) {
    std::string bytes = log;
    const std::size_t at = random() % log.size();
    if (i % 2 == 0) bytes.resize(at);
    else bytes[at] = static_cast<char>(bytes[at] ^ (1 << (random() % 8)));
    sample::write_bytes(folder.file("k"), base);
    sample::write_bytes(folder.file("k-wal"), bytes);
    auto opened = Journal::open(folder.file("k"));
    ASSERT_TRUE(opened) << opened.error().text << " at " << at;
    const int there = story::whole_commits(**opened);
    EXPECT_GE(there, 0) << "at byte " << at;
    EXPECT_LE(there, 4);
    opened->reset();
    for (const char* beside : {"k-wal", "k-shm", "k"}) std::filesystem::remove(folder.file(beside));
  }
}

}  // namespace
}  // namespace brimwatch
