#include "files/old_files.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fstream>

#include "files/own_files.h"

namespace brimwatch {
namespace {

bool is_mail(std::string_view name) { return name.ends_with(".eml"); }

struct OldFilesCase : testing::Test {
  void put(const std::string& name, std::int64_t second) const {
    std::ofstream(path(name)) << "x";
    const timespec times[] = {{second, 0}, {second, 0}};
    ASSERT_EQ(::utimensat(AT_FDCWD, path(name).c_str(), times, 0), 0);
  }
  [[nodiscard]] std::string path(const std::string& name) const { return folder.path() + "/" + name; }
  [[nodiscard]] bool is_there(const std::string& name) const { return inode_at(path(name)) != 0; }
  TemporaryFolder folder = std::move(*TemporaryFolder::make());
};

TEST_F(OldFilesCase, GoWhereTheyAreOursAndOlder) {
  put("a.eml", 100), put("b.eml", 200), put("letter.txt", 100);
  const OldFiles old = remove_old_files(folder.path(), is_mail, Timestamp{200 * kSecond}, 10);
  EXPECT_EQ(old.removed, 1U);
  EXPECT_TRUE(old.finished);
  EXPECT_FALSE(is_there("a.eml"));
  EXPECT_TRUE(is_there("b.eml")) << "as old as the first that stays";
  EXPECT_TRUE(is_there("letter.txt")) << "not ours";
}

TEST_F(OldFilesCase, LinksAndFoldersStay) {
  put("target", 100);
  ASSERT_EQ(::symlink(path("target").c_str(), path("link.eml").c_str()), 0);
  ASSERT_EQ(::mkdir(path("folder.eml").c_str(), 0700), 0);
  EXPECT_EQ(remove_old_files(folder.path(), is_mail, Timestamp{100'000 * kDayNanos}, 10).removed, 0U);
  EXPECT_TRUE(is_there("link.eml") && is_there("target") && is_there("folder.eml"));
}

TEST_F(OldFilesCase, AreSoManyAtOnceAtTheMost) {
  for (int i = 0; i < 5; ++i) put(std::to_string(i) + ".eml", 100);
  const OldFiles some = remove_old_files(folder.path(), is_mail, Timestamp{200 * kSecond}, 3);
  EXPECT_EQ(some.removed, 3U);
  EXPECT_FALSE(some.finished);
  EXPECT_EQ(remove_old_files(folder.path(), is_mail, Timestamp{200 * kSecond}, 3).removed, 2U);
}

TEST(OldFiles, WhereThereIsNoFolderNothingHappens) {
  EXPECT_EQ(remove_old_files("/nonexistent/folder", is_mail, Timestamp{100'000 * kDayNanos}, 3).removed, 0U);
}

}  // namespace
}  // namespace brimwatch
