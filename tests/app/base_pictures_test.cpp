// The base behind a watch, as the page shows it: that of its pivot where there is one, and never a file of nobody's.
#include "app/base_pictures.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <optional>

#include "../weekend/planted.h"
#include "weekend/prepare.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Key;

struct BasePicturesTest : ::testing::Test {
  fs::path folder = fs::path(::testing::TempDir()) / ("bases_" + std::to_string(::getpid()));
  Settings settings;

  void SetUp() override {
    fs::create_directories(folder / "history");
    settings.history.daily = (folder / "history").string();
    write("history/KLVN.csv");
    write("history/ORRI.csv");
    write("secret.csv");
  }
  void TearDown() override { fs::remove_all(folder); }

  void write(const std::string& name, BaseKind kind = BaseKind::flat_base, double noise = 0.004, std::uint64_t seed = 3) {
    std::ofstream file(folder / name);
    file << "date,open,high,low,close,volume\n";
    for (const DailyBar& bar : testing_support::plant(kind, noise, seed).bars) {
      file << to_string(bar.day) << ',' << to_string(bar.open) << ',' << to_string(bar.high) << ',' << to_string(bar.low)
           << ',' << to_string(bar.close) << ',' << std::llround(bar.volume) << '\n';
    }
  }
  /// A base of KLVN that is not the one with the highest score, and has a pivot of its own.
  std::optional<Candidate> with_another_pivot() {
    PrepareInput input;
    input.places = {(folder / "history" / "KLVN.csv").string()};
    input.all = true;
    const auto all = prepare(input)->candidates;
    const auto other = std::find_if(all.begin(), all.end(),
                                    [&](const Candidate& one) { return one.facts.pivot != all.front().facts.pivot; });
    return other == all.end() ? std::nullopt : std::optional<Candidate>(*other);
  }
  void watch(const std::string& symbol, Price pivot) {
    Watch one;
    one.symbol = symbol;
    one.pivot = pivot;
    settings.watches.push_back(one);
  }
};

TEST_F(BasePicturesTest, are_drawn_for_the_watches_and_for_nothing_a_symbol_could_climb_to) {
  for (const char* symbol : {"KLVN", "TAMBU", "../secret", "", ".KLVN"}) watch(symbol, Price{50'000'000});
  const BasePictures out = draw_bases(settings);
  EXPECT_THAT(out, ElementsAre(Key("KLVN")));
  EXPECT_THAT(out.at("KLVN"), HasSubstr("<svg"));
}

TEST_F(BasePicturesTest, show_the_base_of_the_watchs_own_pivot_though_another_scores_higher) {
  std::optional<Candidate> other;
  for (std::uint64_t seed = 1; seed <= 60 && !other; ++seed) {
    write("history/KLVN.csv", kAllBaseKinds[seed % kAllBaseKinds.size()], 0.02, seed);
    other = with_another_pivot();
  }
  ASSERT_TRUE(other) << "none of the planted series has two pivots";
  watch("KLVN", other->facts.pivot);
  EXPECT_THAT(draw_bases(settings).at("KLVN"), HasSubstr("pivot " + to_string(other->facts.pivot)));
}

TEST_F(BasePicturesTest, are_none_without_daily_bars) {
  watch("KLVN", Price{50'000'000});
  settings.history.daily = (folder / "none").string();
  EXPECT_THAT(draw_bases(settings), IsEmpty());
  settings.history.daily.clear();
  EXPECT_THAT(draw_bases(settings), IsEmpty());
}

}  // namespace
}  // namespace brimwatch
