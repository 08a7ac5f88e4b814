// Prices without their point: found by how they move, scaled by what the source says, and asked for where it says
// nothing, or several things, or what no number of decimals says.
#include <gmock/gmock.h>

#include "adapters/guessing/proposal.h"

namespace brimwatch {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

/// Trades of two symbols, of 48.3 and of 7.5, with prices times `factor`; `more` goes into each.
std::string trades_scaled(int factor, const std::string& more = "") {
  std::string out;
  for (int i = 0; i < 24; ++i) {
    const int cents = (i % 2 == 0 ? 4830 : 750) + (i * 7) % 5;
    out += R"({"sym":")" + std::string(i % 2 == 0 ? "KLVN" : "NIVO") + R"(","px":)" + std::to_string(cents * factor) +
           R"(,"qty":)" + std::to_string(100 * (1 + i % 4)) + R"(,"ts":)" + std::to_string(1791986400000 + 700 * i) +
           more + "}\n";
  }
  return out;
}

std::optional<KeyGuess> decimals_of(const Proposal& proposal) {
  for (const KeyGuess& key : proposal.keys) {
    if (key.key == "price_decimals") return key;
  }
  return std::nullopt;
}

KeyGuess scale_of(const std::string& text, std::vector<std::string>* asked = nullptr) {
  const auto proposal = propose(cut_sample(text));
  EXPECT_TRUE(proposal && proposal->usable);
  if (asked != nullptr) *asked = proposal->asked;
  return decimals_of(*proposal).value_or(KeyGuess{});
}

TEST(Scale, IsWhatTheSourceSays) {
  for (const char* said : {R"({"priceScale":4})", R"({"priceDivisor":10000})", R"({"px":{"exponent":-4}})",
                           R"({"priceMultiplier":"0.0001"})"}) {
    const KeyGuess scale = scale_of(said + ("\n" + trades_scaled(100)));
    EXPECT_EQ(scale.value, "4") << said;
    EXPECT_EQ(scale.sure, Sure::sure) << said;
  }
}

TEST(Scale, IsAskedForWhereNothingSaysIt) {
  std::vector<std::string> asked;
  const KeyGuess scale = scale_of(trades_scaled(100), &asked);
  EXPECT_EQ(scale.value, "4");
  EXPECT_EQ(scale.sure, Sure::likely);
  EXPECT_THAT(asked, Contains(StartsWith("price_decimals: ")));
}

TEST(Scale, IsNeverSureWhereTheSourceSaysSeveral) {
  std::vector<std::string> asked;
  const std::string said = R"({"def":"KLVN","decimals":4})"
                           "\n"
                           R"({"def":"NIVO","decimals":2})"
                           "\n";
  EXPECT_EQ(scale_of(said + trades_scaled(100), &asked).sure, Sure::likely);
  EXPECT_THAT(asked, Contains(HasSubstr("several scales")));
}

TEST(Scale, OfStepsThatDecimalsCannotSayIsAskedFor) {
  std::vector<std::string> asked;
  EXPECT_NE(scale_of("{\"tickSize\":0.05}\n" + trades_scaled(1), &asked).sure, Sure::sure);
  EXPECT_THAT(asked, Contains(HasSubstr("steps of 0.05")));
}

TEST(Scale, OfSharesSaysNothingOfPrices) {
  const KeyGuess scale = scale_of("{\"sizeScale\":3,\"qtyDecimals\":1}\n" + trades_scaled(1));
  EXPECT_EQ(scale.value, "2");
  EXPECT_EQ(scale.sure, Sure::likely);
}

TEST(Scale, OfRowsWithoutNamesIsFoundByHowPricesMove) {
  std::string text;
  for (int i = 0; i < 24; ++i) {
    const int cents = (i % 2 == 0 ? 4830 : 750) + (i * 7) % 5;
    text += R"([")" + std::string(i % 2 == 0 ? "KLVN" : "NIVO") + R"(",)" + std::to_string(cents * 100) + "," +
            std::to_string(100 * (1 + i % 4)) + "," + std::to_string(1791986400000 + 700 * i) + "]\n";
  }
  const auto proposal = propose(cut_sample(text));
  ASSERT_TRUE(proposal);
  EXPECT_EQ(proposal->settings.fields.price, "/1");
  EXPECT_EQ(proposal->settings.fields.size, "/2");
  EXPECT_EQ(proposal->settings.price_decimals, 4);
  EXPECT_EQ(proposal->trial.ticks, 24U);
}

}  // namespace
}  // namespace brimwatch
