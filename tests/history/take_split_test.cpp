#include "history/take_split.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "config/loader.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

class TakeSplit : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::path(testing::TempDir()) / ("take_split_" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  /// The list as the split leaves it.
  std::string taken(const std::string& list, const std::string& text, double ratio) {
    std::ofstream(folder_ / list) << text;
    std::ofstream(folder_ / "b.toml") << "watch_lists = [\"" << list << "\"]\n";
    const Loaded loaded = load_settings((folder_ / "b.toml").string());
    EXPECT_TRUE(loaded.ok());
    const auto after = with_split(text, loaded.settings, 1, "KLVN", ratio);
    return after ? *after : after.error().text;
  }

  std::filesystem::path folder_;
};

TEST_F(TakeSplit, OfATomlListOnlyPricesAndVolumeOfItsWatchesChange) {
  const std::string before =
      "# mine\n[[watch]]\nsymbol = \"KLVN\" # a 5.5 % note\npivot = 48.35   # by eye, 3 tries\nnormal_volume = "
      "1_300_000\n"
      "note = \"48.35\"\n\n[[watch]]\nnormal_volume = \"1.3M\"\npeak=50.00\nsymbol = \"KLVN\"\n[[watch]]\nsymbol = "
      "\"NIVO\"\n"
      "pivot = 48.35\nnormal_volume = 100\n";
  EXPECT_EQ(
      taken("l.toml", before, 2),
      "# mine\n[[watch]]\nsymbol = \"KLVN\" # a 5.5 % note\npivot = 24.18   # by eye, 3 tries\nnormal_volume = 2600000\n"
      "note = \"48.35\"\n\n[[watch]]\nnormal_volume = 2600000\npeak=25.00\nsymbol = \"KLVN\"\n[[watch]]\nsymbol = "
      "\"NIVO\"\n"
      "pivot = 48.35\nnormal_volume = 100\n");
}

TEST_F(TakeSplit, OfACsvListToo) {
  EXPECT_EQ(taken("l.csv", "symbol,pivot,normal_volume,note\nNIVO,7.50,100,x\nKLVN,4.00,1000000,y\n", 0.1),
            "symbol,pivot,normal_volume,note\nNIVO,7.50,100,x\nKLVN,40.00,100000,y\n");
}

TEST_F(TakeSplit, RatiosAsPeopleWriteThem) {
  EXPECT_EQ(parse_split_ratio("2:1"), 2);
  EXPECT_EQ(parse_split_ratio("3:2"), 1.5);
  EXPECT_EQ(parse_split_ratio("1:10"), 0.1);
  EXPECT_EQ(parse_split_ratio("4"), 4);
  for (const char* bad : {"", "x", "0", "1:1", "2,1", "-2", "1:0"}) EXPECT_FALSE(parse_split_ratio(bad)) << bad;
  EXPECT_EQ(split_text(2.004), "2:1");
  EXPECT_EQ(split_text(0.1), "1:10");
  EXPECT_EQ(split_text(1.5), "3:2");
}

}  // namespace
}  // namespace brimwatch
