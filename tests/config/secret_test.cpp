#include "config/secret.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>

namespace brimwatch {
namespace {

class SecretFile : public ::testing::Test {
 protected:
  SecretFile() : directory_(::testing::TempDir() + "brimwatch-secret-XXXXXX") {
    if (::mkdtemp(directory_.data()) == nullptr) std::abort();
  }
  ~SecretFile() override { std::filesystem::remove_all(directory_); }

  std::string write(const std::string& name, const std::string& text, mode_t mode) {
    const std::string path = directory_ + "/" + name;
    std::ofstream(path) << text;
    ::chmod(path.c_str(), mode);
    return path;
  }

  std::string directory_;
};

using Kind = SecretSource::Kind;

TEST_F(SecretFile, ComesFromAFileThatOnlyItsOwnerReads) {
  EXPECT_EQ(read_secret({Kind::file, write("a", "hunter2 \n", 0600)})->text(), "hunter2 ");
  EXPECT_EQ(read_secret({Kind::file, write("b", "x\r\n", 0400)})->text(), "x");
}

TEST_F(SecretFile, AFileThatOthersReachIsRefusedWithoutItsContents) {
  for (const mode_t mode : {0640, 0604, 0620, 0777}) {
    const auto secret = read_secret({Kind::file, write("c", "hunter2", mode)});
    ASSERT_FALSE(secret) << mode;
    EXPECT_NE(secret.error().text.find("chmod 600"), std::string::npos);
    EXPECT_EQ(secret.error().text.find("hunter2"), std::string::npos);
  }
}

TEST_F(SecretFile, WhatIsNoSecretIsRefused) {
  EXPECT_FALSE(read_secret({Kind::file, write("d", "\n", 0600)}));
  EXPECT_FALSE(read_secret({Kind::file, write("e", std::string(70000, 'x'), 0600)}));
  EXPECT_FALSE(read_secret({Kind::file, write("f", std::string("a\0b", 3), 0600)}));
  EXPECT_FALSE(read_secret({Kind::file, directory_ + "/none"}));
  EXPECT_FALSE(read_secret({Kind::file, directory_}));
  EXPECT_FALSE(read_secret({Kind::none, ""}));
}

TEST_F(SecretFile, ComesFromTheEnvironment) {
  ::setenv("BRIMWATCH_TEST_SECRET", "hunter2", 1);
  EXPECT_EQ(read_secret({Kind::environment, "BRIMWATCH_TEST_SECRET"})->text(), "hunter2");
  ::unsetenv("BRIMWATCH_TEST_SECRET");
  EXPECT_EQ(read_secret({Kind::environment, "BRIMWATCH_TEST_SECRET"}).error().text,
            "environment variable BRIMWATCH_TEST_SECRET is not set");
}

// systemd.exec(5): LoadCredential= puts files under $CREDENTIALS_DIRECTORY.
TEST_F(SecretFile, ComesFromTheUnitsCredentials) {
  ::unsetenv("CREDENTIALS_DIRECTORY");
  EXPECT_FALSE(read_secret({Kind::credential, "mail"}));
  ::setenv("CREDENTIALS_DIRECTORY", directory_.c_str(), 1);
  write("mail", "hunter2\n", 0440);
  EXPECT_EQ(read_secret({Kind::credential, "mail"})->text(), "hunter2");
  EXPECT_FALSE(read_secret({Kind::credential, "../mail"}));
  EXPECT_FALSE(read_secret({Kind::credential, ".."}));
  ::unsetenv("CREDENTIALS_DIRECTORY");
}

TEST(WithoutSecret, BlotsItOutInEveryShape) {
  EXPECT_EQ(without_secret("key a\"b: {\"k\":\"a\\\"b\"} ?k=a%22b", "a\"b"),
            "key (secret): {\"k\":\"(secret)\"} ?k=(secret)");
  EXPECT_EQ(without_secret("nothing", ""), "nothing");
}

TEST(WipedText, HoldsNothingOfItAnyMore) {
  for (const std::size_t size : {5U, 15U, 16U, 4000U}) {  // in the text object itself, and apart
    std::string text(size, 'h');
    const char* const bytes = text.data();
    const std::size_t room = text.capacity();
    wipe(text);
    EXPECT_TRUE(text.empty());
    EXPECT_EQ(text.data(), bytes);
    EXPECT_EQ(std::count(bytes, bytes + room, 'h'), 0) << size;
  }
}

TEST(WipedText, ASecretLeavesNoCopyWhereItCameFrom) {
  std::string text = "hunter2";
  Secret first(std::move(text));
  EXPECT_EQ(std::string_view(text.data(), 7).find("hunter"), std::string_view::npos);
  Secret second(std::move(first));
  EXPECT_EQ(std::string_view(first.text().data(), 7).find("hunter"), std::string_view::npos);
  Secret third;
  third = std::move(second);
  EXPECT_EQ(std::string_view(second.text().data(), 7).find("hunter"), std::string_view::npos);
  EXPECT_EQ(third.text(), "hunter2");
}

}  // namespace
}  // namespace brimwatch
