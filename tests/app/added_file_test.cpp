// The copy of added watches: written, renewed, and never over what a person has written into it.
#include "app/added_file.h"

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>

#include "files/text_file.h"

namespace brimwatch {
namespace {

constexpr const char* kOne = "# head\n\n[[watch]]\nsymbol = \"NIVO\"\npivot = 8.10\n";
constexpr const char* kTwo = "# head\n# dropped: ORRI 9.00\n";

struct AddedFile : testing::Test {
  std::string folder = testing::TempDir() + "added-file";
  std::string path = folder + "/added.toml";
  AddedFile() { std::filesystem::create_directories(folder); }
  ~AddedFile() override { std::filesystem::remove_all(folder); }
  [[nodiscard]] std::size_t files() const {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder), {}));
  }
  void put(const std::string& text) const { std::ofstream(path) << text; }
};

TEST_F(AddedFile, IsNotMadeForNothing) {
  EXPECT_EQ(*keep_added_file(path, "# head\n"), "");
  EXPECT_EQ(files(), 0U);
}

TEST_F(AddedFile, IsRenewedWhereNobodyHasChangedIt) {
  EXPECT_EQ(*keep_added_file(path, kOne), "");
  EXPECT_EQ(*keep_added_file(path, kTwo), "");
  EXPECT_EQ(*keep_added_file(path, "# head\n"), "");
  EXPECT_THAT(*read_file(path), testing::StartsWith("# head\n# as written, "));
  EXPECT_EQ(files(), 1U);
}

TEST_F(AddedFile, GivesWayToNothingThatAPersonHasWritten) {
  const std::string ours = added_file(kOne);
  for (const std::string& hand :
       {ours + "[[watch]]\nsymbol = \"ZUNO\"\n", ours.substr(1), std::string(kOne), std::string("mine")}) {
    put(hand);
    const auto aside = keep_added_file(path, kTwo);
    ASSERT_TRUE(aside) << aside.error().text;
    EXPECT_THAT(*aside, testing::StartsWith(path + ".by-hand"));
    EXPECT_EQ(*read_file(*aside), hand);
    EXPECT_EQ(*read_file(path), added_file(kTwo));
  }
  EXPECT_EQ(files(), 5U) << "each under a name of its own";
}

TEST_F(AddedFile, ThatWasEmptiedByHandIsPutAsideToo) {
  put("");
  EXPECT_NE(*keep_added_file(path, kOne), "");
}

TEST_F(AddedFile, ThatCannotBeWrittenIsAnError) { EXPECT_FALSE(keep_added_file(folder + "/none/added.toml", kOne)); }

}  // namespace
}  // namespace brimwatch
