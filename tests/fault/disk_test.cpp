// Calls that change a file fail in turn, once and for ever (every third of them, each kind from another one on; with
// BRIMWATCH_ALL=1 every one); and the power goes in the middle of a call.
#include <gmock/gmock.h>
#include <sqlite3.h>
#include <sys/mount.h>

#include <condition_variable>
#include <mutex>

#include "fault_vfs.h"
#include "journal/writer.h"
#include "story.h"
#include "support/how_much.h"

namespace brimwatch {
namespace {

using sample::must;
using testing::HasSubstr;

struct FaultKind {
  const char* name;
  int code;
  bool for_ever;
  std::uint64_t first;  ///< the call to begin with
};
void PrintTo(const FaultKind& one, std::ostream* out) { *out << one.name; }

class EveryCall : public testing::TestWithParam<FaultKind> {};

TEST_P(EveryCall, FailsWithoutLossAndIsTold) {
  const FaultKind& kind = GetParam();
  const std::uint64_t step = test::everywhere() ? 1 : 3;
  std::uint64_t faults = 0;
  for (std::uint64_t call = test::everywhere() ? 1 : kind.first;; call += step) {
    SCOPED_TRACE(std::string(kind.name) + " at call " + std::to_string(call));
    sample::Folder folder;
    FaultVfs vfs;
    vfs.fail_at(call, kind.code, kind.for_ever);
    std::string error;
    const int promised = story::tell(folder.file("j"), {.vfs = vfs.name()}, 1, &error);
    if (vfs.failed() == 0) break;
    ++faults;
    // SQLite may come through a single failure by itself; otherwise it is told.
    EXPECT_TRUE(promised == story::kCommits || error.find("journal " + folder.file("j")) == 0) << error;
    vfs.stop_failing();
    auto journal = sample::open(folder.file("j"));
    ASSERT_NE(journal, nullptr);
    const int there = story::whole_commits(*journal);
    EXPECT_GE(there, promised) << "what was promised is there";
    EXPECT_LE(there, promised + 1);
    journal.reset();
    EXPECT_EQ(story::tell(folder.file("j"), {}, promised + 1), story::kCommits) << "and it goes on";
    EXPECT_EQ(story::whole_commits(*sample::open(folder.file("j"))), story::kCommits);
    if (HasFailure()) break;
  }
  EXPECT_GT(faults, 50U);
}

INSTANTIATE_TEST_SUITE_P(Disk, EveryCall,
                         testing::Values(FaultKind{"full, once", SQLITE_FULL, false, 1},
                                         FaultKind{"full, for ever", SQLITE_FULL, true, 2},
                                         FaultKind{"error, once", SQLITE_IOERR_WRITE, false, 3},
                                         FaultKind{"error, for ever", SQLITE_IOERR_WRITE, true, 1},
                                         FaultKind{"fsync error, once", SQLITE_IOERR_FSYNC, false, 2}),
                         [](const testing::TestParamInfo<FaultKind>& kind) {
                           std::string name;
                           for (const char* c = kind.param.name; *c != 0; ++c)
                             name += std::isalpha(*c) != 0 ? std::string(1, *c) : "";
                           return name;
                         });

std::uint64_t count_calls() {
  sample::Folder folder;
  FaultVfs vfs;
  story::tell(folder.file("j"), {.vfs = vfs.name()}, 1);
  return vfs.calls();
}

/// The power goes in the middle of a call; returns what had been promised until then, and leaves the files in `after`.
int lose_power(std::uint64_t call, std::uint64_t seed, const sample::Folder& folder, const std::string& after) {
  FaultVfs vfs;
  vfs.keep_image_at(call);
  // Everything fails from that call on, so that nothing is promised any more.
  vfs.fail_at(call, SQLITE_IOERR, true);
  const int promised = story::tell(folder.file("before"), {.vfs = vfs.name()}, 1);
  if (!vfs.image()) return -1;
  put_back(*vfs.image(), folder.file(after), seed);
  return promised;
}

TEST(PowerLoss, LeavesWhatWasPromisedAndNothingHalf) {
  const std::uint64_t calls = count_calls();
  const int seeds = static_cast<int>(test::seeds_wanted(200));
  int lost_power = 0;
  for (int seed = 1; seed <= seeds && !HasFailure(); ++seed) {
    const std::uint64_t call = 1 + std::mt19937_64(static_cast<std::uint64_t>(seed))() % calls;
    SCOPED_TRACE("seed " + std::to_string(seed) + ", call " + std::to_string(call));
    sample::Folder folder;
    const int promised = lose_power(call, static_cast<std::uint64_t>(seed), folder, "after");
    if (promised < 0) continue;
    ++lost_power;
    const std::string path = folder.file("after/before");
    auto journal = Journal::open(path);
    ASSERT_TRUE(journal) << journal.error().text;
    const int there = story::whole_commits(**journal);
    EXPECT_GE(there, promised);
    EXPECT_LE(there, promised + 1);
    journal->reset();
    EXPECT_EQ(story::tell(path, {}, promised + 1), story::kCommits);
  }
  EXPECT_GT(lost_power, seeds / 2);
}

TEST(PowerLoss, ConvergesWhenTheDiskFailsInTheRecoveryToo) {
  const std::uint64_t calls = count_calls();
  const int seeds = static_cast<int>(test::seeds_wanted(50));
  for (int seed = 1; seed <= seeds && !HasFailure(); ++seed) {
    std::mt19937_64 random(static_cast<std::uint64_t>(seed));
    const std::uint64_t call = 1 + random() % calls;
    SCOPED_TRACE("seed " + std::to_string(seed) + ", call " + std::to_string(call));
    sample::Folder folder;
    int promised = lose_power(call, static_cast<std::uint64_t>(seed), folder, "after");
    if (promised < 0) continue;
    const std::string path = folder.file("after/before");
    for (int crash = 0; crash < 3; ++crash) {
      FaultVfs vfs;
      vfs.fail_at(1 + random() % 12, crash % 2 == 0 ? SQLITE_FULL : SQLITE_IOERR_FSYNC, true);
      promised = std::max(promised, story::tell(path, {.vfs = vfs.name()}, promised + 1));
    }
    auto journal = Journal::open(path);
    ASSERT_TRUE(journal) << journal.error().text;
    EXPECT_GE(story::whole_commits(**journal), promised);
    journal->reset();
    EXPECT_EQ(story::tell(path, {}, promised + 1), story::kCommits);
    EXPECT_EQ(story::whole_commits(*sample::open(path)), story::kCommits);
  }
}

/// A disk of a megabyte that really is full; needs the right to mount.
class SmallDisk : public testing::Test {
 protected:
  void SetUp() override {
    std::filesystem::create_directory(folder_.file("disk"));
    if (::mount("tmpfs", folder_.file("disk").c_str(), "tmpfs", 0, "size=1m") != 0)
      GTEST_SKIP() << "no right to mount a small disk";
    mounted_ = true;
  }
  void TearDown() override {
    if (mounted_) ::umount(folder_.file("disk").c_str());
  }
  sample::Folder folder_;
  bool mounted_ = false;
};

TEST_F(SmallDisk, FullIsToldNoticesGoOutAndItRecovers) {
  using namespace std::chrono_literals;
  const std::string path = folder_.file("disk/j");
  std::mutex mutex;
  std::condition_variable changed;
  std::string trouble;
  int told = 0, kept = 0;
  bool recovered = false;
  const auto heard = [&](auto change) {
    const std::lock_guard lock(mutex);
    change();
    changed.notify_all();
  };
  const auto wait = [&](auto condition) {
    std::unique_lock lock(mutex);
    return changed.wait_for(lock, 30s, condition);
  };
  JournalWriter writer(
      sample::open(path), [&] { return Journal::open(path); },
      {.on_notices = [&](const auto& notices,
                         bool durable) { heard([&] { (durable ? kept : told) += static_cast<int>(notices.size()); }); },
       .on_trouble = [&](const std::string& why) { heard([&] { trouble = why; }); },
       .on_recovery = [&] { heard([&] { recovered = true; }); }},
      {.reopen_first = 1ms, .reopen_most = 5ms});
  sample::write_bytes(folder_.file("disk/filler"), std::string(2 << 20, 'x'));  // as much as there is room for
  for (int i = 1; i <= 40; ++i) {
    auto batch = story::batch(i);
    batch.notices[0].text = std::string(60'000, 'y');
    writer.submit(std::move(batch));
  }
  ASSERT_TRUE(wait([&] { return !trouble.empty() && told + kept >= 40; }));
  EXPECT_THAT(trouble, HasSubstr("the disk is full"));
  EXPECT_GT(told, 0) << "the user hears of them all the same";
  std::filesystem::remove(folder_.file("disk/filler"));
  // Still too small for all of it: room is made as a person would, by a larger disk.
  ASSERT_EQ(::mount("tmpfs", folder_.file("disk").c_str(), "tmpfs", MS_REMOUNT, "size=64m"), 0);
  ASSERT_TRUE(wait([&] { return recovered; }));
  EXPECT_TRUE(writer.stop(30s));
  EXPECT_EQ(must(sample::open(path)->notices({})).size(), 40U);
}

}  // namespace
}  // namespace brimwatch
