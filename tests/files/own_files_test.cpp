#include "files/own_files.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <atomic>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <thread>

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

class Files : public testing::Test {
 protected:
  Files() : folder_(std::move(*TemporaryFolder::make())) {}

  [[nodiscard]] std::string at(const char* name) const { return folder_.path() + "/" + name; }
  static void put(const std::string& path, std::string_view text) { std::ofstream(path, std::ios::binary) << text; }
  static std::string get(const std::string& path) {
    std::ostringstream text;
    text << std::ifstream(path, std::ios::binary).rdbuf();
    return text.str();
  }
  static void put_socket(const std::string& path) {
    const int fd = ::socket(AF_UNIX, SOCK_STREAM, 0);
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    path.copy(address.sun_path, sizeof address.sun_path - 1);
    ASSERT_EQ(::bind(fd, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
    ::close(fd);
  }
  /// How many things are in the folder.
  [[nodiscard]] std::size_t count() const {
    return static_cast<std::size_t>(std::distance(fs::directory_iterator(folder_.path()), fs::directory_iterator()));
  }

  TemporaryFolder folder_;
};

TEST_F(Files, OnlyASocketMakesRoomForASocket) {
  put(at("letter"), "dear");
  const Status plain = remove_socket(at("letter"));
  ASSERT_FALSE(plain);
  EXPECT_THAT(plain.error().text, HasSubstr("is no socket; it was left alone"));
  EXPECT_EQ(get(at("letter")), "dear");

  put_socket(at("socket"));
  fs::create_symlink(at("socket"), at("link"));
  EXPECT_FALSE(remove_socket(at("link"))) << "a link is no socket, wherever it leads";
  EXPECT_TRUE(fs::exists(at("socket")));
  EXPECT_TRUE(remove_socket(at("socket"), inode_at(at("socket")) + 1)) << "another one's: left alone";
  EXPECT_TRUE(fs::exists(at("socket")));
  EXPECT_TRUE(remove_socket(at("socket"), inode_at(at("socket"))));
  EXPECT_FALSE(fs::exists(at("socket")));
  EXPECT_TRUE(remove_socket(at("socket"))) << "none there: fine";
}

TEST_F(Files, ALockFollowsNoLinkAndCutsNothingOfOthers) {
  put(at("letter"), "dear");
  fs::create_symlink(at("letter"), at("link.lock"));
  const auto link = open_lock_file(at("link.lock"));
  ASSERT_FALSE(link);
  EXPECT_THAT(link.error().text, HasSubstr("is a link; it was left alone"));

  const auto text = open_lock_file(at("letter"));
  ASSERT_FALSE(text);
  EXPECT_THAT(text.error().text, HasSubstr("holds something else than a process's number"));

  fs::create_hard_link(at("letter"), at("second"));
  EXPECT_FALSE(open_lock_file(at("second")));
  ASSERT_EQ(::mkfifo(at("pipe").c_str(), 0600), 0);
  EXPECT_FALSE(open_lock_file(at("pipe"))) << "and does not wait for a reader";
  EXPECT_EQ(get(at("letter")), "dear");
}

TEST_F(Files, ALockHoldsANumberAndIsTakenOnce) {
  auto first = open_lock_file(at("lock")), second = open_lock_file(at("lock"));
  ASSERT_TRUE(first && second);
  EXPECT_TRUE(try_lock(*first));
  EXPECT_FALSE(try_lock(*second));
  write_lock_owner(*first, "123456");
  write_lock_owner(*first, "77");
  EXPECT_EQ(get(at("lock")), "77");
  first->close();
  EXPECT_TRUE(try_lock(*second));
}

TEST_F(Files, AFileIsReplacedWholeAndWhatALinkLeadsToStays) {
  put(at("letter"), "dear");
  fs::create_symlink(at("letter"), at("curves"));
  ASSERT_TRUE(replace_file(at("curves"), "new"));
  EXPECT_EQ(get(at("letter")), "dear");
  EXPECT_FALSE(fs::is_symlink(at("curves")));
  EXPECT_EQ(get(at("curves")), "new");
  struct stat info {};
  ASSERT_EQ(::stat(at("curves").c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777U, 0600U);
  EXPECT_EQ(count(), 2U) << "nothing is left beside it";
}

TEST_F(Files, WhatCannotBeReplacedLeavesTheOldOneAndNothingBesideIt) {
  ASSERT_TRUE(fs::create_directory(at("folder")));
  EXPECT_FALSE(replace_file(at("folder"), "new"));
  EXPECT_FALSE(replace_file(at("nowhere/file"), "new"));
  EXPECT_EQ(count(), 1U);
}

TEST_F(Files, AFolderThatIsMissingIsMadeForItsOwnerAlone) {
  ASSERT_TRUE(make_folder_of(at("state/brimwatch/curves.toml")));
  for (const char* folder : {"state", "state/brimwatch"}) {
    struct stat info {};
    ASSERT_EQ(::stat(at(folder).c_str(), &info), 0);
    EXPECT_TRUE(S_ISDIR(info.st_mode));
    EXPECT_EQ(info.st_mode & 0777U, 0700U);
  }
  ASSERT_EQ(::chmod(at("state").c_str(), 0750), 0);
  EXPECT_TRUE(make_folder_of(at("state/curves.toml")));
  struct stat info {};
  ASSERT_EQ(::stat(at("state").c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777U, 0750U) << "one that is there is left as it is";
  put(at("letter"), "dear");
  const Status failed = make_folder_of(at("letter/brimwatch/curves.toml"));
  ASSERT_FALSE(failed);
  EXPECT_NE(failed.error().text.find("letter/brimwatch: the folder cannot be made: Not a directory"), std::string::npos);
}

TEST_F(Files, AnOutputGoesThroughALinkAndIntoAPipe) {
  put(at("list"), "old");
  ASSERT_EQ(::chmod(at("list").c_str(), 0640), 0);
  fs::create_symlink("list", at("link"));
  ASSERT_TRUE(write_output(at("link"), "new"));
  EXPECT_EQ(get(at("list")), "new");
  EXPECT_TRUE(fs::is_symlink(at("link")));
  struct stat info {};
  ASSERT_EQ(::stat(at("list").c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777U, 0640U) << "its mode stays";
  EXPECT_TRUE(write_output("/dev/null", "gone"));
  EXPECT_TRUE(fs::is_character_file("/dev/null"));
  ASSERT_TRUE(write_output(at("fresh"), "first"));
  EXPECT_EQ(get(at("fresh")), "first");
}

// flock(2): a lock ends with the process that holds it, and another descriptor of the same process is another holder.
TEST_F(Files, WhatADeadProcessLeftUnfinishedGoesAndWhatIsWrittenNowStays) {
  for (const char* name : {".KLVN.csv.a1B2c3", ".NIVO.csv.Zz09xy", ".KLVN.csv.short", ".KLVN.csv.no-ltr",
                           "KLVN.csv.a1B2c3", ".note.txt.a1B2c3", "KLVN.csv", ".a1B2c3"})
    put(at(name), "x");
  fs::create_symlink(at("KLVN.csv"), at(".LINK.csv.a1B2c3"));
  fs::create_directory(at(".DIR.csv.a1B2c3"));
  ASSERT_EQ(::mkfifo(at(".PIPE.csv.a1B2c3").c_str(), 0600), 0);
  const auto written = open_lock_file(at("lock"));
  ASSERT_TRUE(written);
  fs::rename(at("lock"), at(".ORRJ.csv.a1B2c3"));
  ASSERT_TRUE(try_lock(*written));
  const auto is_ours = [](std::string_view name) { return name.ends_with(".csv"); };
  EXPECT_EQ(remove_unfinished(folder_.path(), is_ours), 2U);
  EXPECT_FALSE(fs::exists(at(".KLVN.csv.a1B2c3")) || fs::exists(at(".NIVO.csv.Zz09xy")));
  EXPECT_EQ(count(), 10U) << "nothing else";
  EXPECT_EQ(remove_unfinished(at("nowhere"), is_ours), 0U);
}

// Whoever clears takes each file's lock for a moment, which must never cost a file that is being written.
TEST_F(Files, AFolderThatIsClearedAllTheTimeLosesNothing) {
  std::atomic<bool> done = false;
  std::thread clearing([&] {
    while (!done) (void)remove_unfinished(folder_.path(), [](std::string_view) { return true; });
  });
  for (int i = 0; i < 300; ++i) {
    const std::string text = std::to_string(i);
    const Status written = replace_file(at("KLVN.csv"), text);
    ASSERT_TRUE(written) << written.error().text;
    ASSERT_EQ(get(at("KLVN.csv")), text);
  }
  done = true;
  clearing.join();
  EXPECT_EQ(count(), 1U);
}

TEST_F(Files, OnlyAPlainFileIsRemoved) {
  put(at("old"), "x");
  fs::create_symlink(at("old"), at("link"));
  EXPECT_FALSE(remove_plain_file(at("link")));
  EXPECT_FALSE(remove_plain_file(at("none")));
  EXPECT_TRUE(remove_plain_file(at("old")));
}

TEST_F(Files, OneFileHasOnePathWhateverLeadsToIt) {
  ASSERT_TRUE(fs::create_directory(at("real")));
  fs::create_symlink("real", at("folder"));
  const std::string wanted = fs::canonical(at("real")).string() + "/journal.db";
  EXPECT_EQ(without_links(at("folder/journal.db")), wanted) << "nothing is there yet";
  fs::create_symlink("folder/journal.db", at("dangling"));
  EXPECT_EQ(without_links(at("dangling")), wanted) << "a link to what is not there yet";
  put(at("real/journal.db"), "x");
  EXPECT_EQ(without_links(at("dangling")), wanted);
  EXPECT_EQ(without_links(at("real/../real/journal.db")), wanted);
  fs::create_symlink("round", at("round"));
  EXPECT_EQ(without_links(at("round")), at("round")) << "links in a circle lead nowhere";
}

TEST_F(Files, ANewFileFollowsNoLink) {
  fs::create_symlink(at("elsewhere"), at("link"));
  EXPECT_FALSE(create_new_file(at("link")));
  EXPECT_FALSE(fs::exists(at("elsewhere")));
}

TEST_F(Files, WhatRootMakesInAnothersFolderIsTheirs) {
  if (::geteuid() != 0) GTEST_SKIP() << "only root can make a file another's";
  constexpr uid_t kAnother = 12345;
  ASSERT_EQ(::chown(folder_.path().c_str(), kAnother, kAnother), 0);
  ASSERT_TRUE(replace_file(at("curves"), "x"));
  ASSERT_TRUE(create_new_file(at("day")));
  ASSERT_TRUE(open_lock_file(at("lock")));
  for (const char* name : {"curves", "day", "lock"}) {
    struct stat facts {};
    ASSERT_EQ(::stat(at(name).c_str(), &facts), 0);
    EXPECT_EQ(facts.st_uid, kAnother) << name;
  }
  EXPECT_TRUE(open_lock_file(at("lock")));  // the service's own lock, which a command of root's looks at
  // Another name of a file of root's is not given away with it.
  put(at("root"), "");
  ASSERT_EQ(::link(at("root").c_str(), at("trap").c_str()), 0);
  EXPECT_FALSE(open_lock_file(at("trap")));
  struct stat facts {};
  ASSERT_EQ(::stat(at("root").c_str(), &facts), 0);
  EXPECT_EQ(facts.st_uid, 0U);
}

}  // namespace
}  // namespace brimwatch
