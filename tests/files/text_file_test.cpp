// Whatever lies under a name: text or an error, and the program goes on.
#include "files/text_file.h"

#include <gmock/gmock.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;
using testing::StartsWith;

class TextFile : public testing::Test {
 protected:
  void SetUp() override { fs::create_directories(folder_); }
  void TearDown() override { fs::remove_all(folder_); }
  [[nodiscard]] std::string path(const std::string& name) const { return (folder_ / name).string(); }

  fs::path folder_ = fs::path(testing::TempDir()) / ("text_file_" + std::to_string(::getpid()));
};

TEST_F(TextFile, IsReadWhole) {
  const std::string text = "a\0b\n" + std::string(100'000, 'x');
  std::ofstream(path("a")) << text;
  EXPECT_EQ(read_file(path("a")).value(), text);
  EXPECT_EQ(read_text(path("a"), text.size()).value(), text);
  EXPECT_FALSE(read_text("/proc/self/status").value().empty()) << "a file that says 0 bytes and has some";
}

TEST_F(TextFile, WhatIsInTheWayIsAnError) {
  EXPECT_EQ(read_file(path("none")).error().text, path("none") + ": found no such file");
  EXPECT_THAT(read_file(folder_).error().text, HasSubstr("found something that is not a file, expected a file"));
  ASSERT_EQ(::mkfifo(path("pipe").c_str(), 0600), 0);
  EXPECT_THAT(read_file(path("pipe")).error().text, HasSubstr("not a file")) << "without waiting for a writer";
  std::ofstream(path("big")) << "12345";
  EXPECT_EQ(read_text(path("big"), 4).error().text, "found 5 bytes, expected at most 4");
}

TEST_F(TextFile, AFolderThatCannotBeReachedIsAnError) {
  EXPECT_TRUE(look_into(folder_));
  EXPECT_THAT(look_into(path("none")).error().text, HasSubstr("found no such folder"));
  std::ofstream(path("a")) << "1";
  EXPECT_THAT(look_into(path("a")).error().text, HasSubstr("not a folder"));
  EXPECT_THAT(look_into(path("a") + "/b").error().text, HasSubstr("cannot be reached"));
  // A loop of links holds root up too, whom permissions do not.
  fs::create_symlink(path("loop"), path("loop"));
  EXPECT_THAT(look_into(path("loop")).error().text, HasSubstr("cannot be reached"));
  EXPECT_TRUE(is_there(path("loop/a"))) << "nobody can say that it is not";
  EXPECT_THAT(read_file(path("loop/a")).error().text,
              StartsWith(path("loop/a") + ": found a file that cannot be opened"));
}

TEST_F(TextFile, IsThereOrNot) {
  std::ofstream(path("a")) << "1";
  EXPECT_TRUE(is_there(path("a")));
  EXPECT_FALSE(is_there(path("b")));
  EXPECT_FALSE(is_there(path("a") + "/b"));
}

}  // namespace
}  // namespace brimwatch
