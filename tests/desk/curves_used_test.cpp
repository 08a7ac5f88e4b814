// Which learned curves and own crossings a run judges by, in one line.
#include "desk/curves_used.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

constexpr Date kNovember = Date::of(2026, 11, 1);

OwnLifts one_month(double lift) { return {{kNovember, lift, 64, 40, kNovember - 300, kNovember - 2}}; }

LearnedBySymbol curves_of(std::initializer_list<const char*> symbols) {
  LearnedBySymbol out;
  for (const char* symbol : symbols) out[symbol].days = 30;
  return out;
}

TEST(CurvesUsed, NothingIsSaidOfTheShippedModelAlone) {
  EXPECT_EQ(curves_used({}, {}, "curves.toml"), "");
  EXPECT_EQ(curves_used({}, one_month(0), "curves.toml"), "") << "a month with too few crossings moves nothing";
}

TEST(CurvesUsed, SaysWhoseCurvesAndFromWhere) {
  EXPECT_EQ(curves_used(curves_of({"KLVN"}), {}, "/c/curves.toml"), "learned curves of 1 symbol from /c/curves.toml");
  EXPECT_EQ(curves_used(curves_of({"KLVN", "ORRI"}), {}, "/c/curves.toml"),
            "learned curves of 2 symbols from /c/curves.toml");
}

TEST(CurvesUsed, SaysWhatTheOwnCrossingsTaught) {
  const std::string own =
      "since 2026-11-01 your own crossings move the volume to come after one: +2.1 % of a day, from 64 till 2026-10-30";
  EXPECT_EQ(curves_used({}, one_month(.021), "/c/curves.toml"), own);
  EXPECT_EQ(curves_used(curves_of({"KLVN"}), one_month(.021), "/c/curves.toml"),
            "learned curves of 1 symbol from /c/curves.toml; " + own);
}

TEST(CurvesUsed, ASymbolOfWhichOnlyTheFeedsShareIsKnownHasNoCurve) {
  LearnedBySymbol known;
  known["KLVN"].ratio_days = 20;
  EXPECT_EQ(curves_used(known, {}, "/c/curves.toml"), "");
}

}  // namespace
}  // namespace brimwatch
