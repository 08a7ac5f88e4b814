// What the page may show of a folder of pictures: those of its own stocks, and nothing that a symbol could point to.
#include "app/base_pictures.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;
using ::testing::Key;

TEST(BasePictures, are_those_of_the_watches_and_nothing_a_symbol_could_climb_to) {
  const fs::path folder = fs::path(::testing::TempDir()) / ("charts_" + std::to_string(::getpid()));
  fs::create_directories(folder / "charts");
  const auto write = [&](const std::string& name, const std::string& text) { std::ofstream(folder / name) << text; };
  write("charts/KLVN.svg", "<svg>1</svg>");
  write("charts/ORRI.svg", "<svg>2</svg>");
  write("charts/HUGE.svg", "<svg>" + std::string(kBasePictureBytesMost, ' '));
  write("charts/TEXT.svg", "no picture");
  write("secret.svg", "<svg>secret</svg>");
  const auto read = [&](const std::vector<std::string>& symbols) {
    return read_base_pictures((folder / "charts").string(), symbols);
  };
  EXPECT_THAT(read({"KLVN", "TAMBU", "../secret", "", ".KLVN", "HUGE", "TEXT"}), ElementsAre(Key("KLVN")));
  EXPECT_THAT(read({"KLVN", "ORRI"}), ElementsAre(Key("KLVN"), Key("ORRI")));
  EXPECT_TRUE(read_base_pictures("", {"KLVN"}).empty());
  EXPECT_TRUE(read_base_pictures((folder / "none").string(), {"KLVN"}).empty());
  fs::remove_all(folder);
}

}  // namespace
}  // namespace brimwatch
