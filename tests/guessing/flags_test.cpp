// Flags of trades: what the mapper says to write of one that no key reads does what it says.
#include <gmock/gmock.h>

#include "adapters/guessing/proposal.h"

namespace brimwatch {
namespace {

using testing::Contains;
using testing::HasSubstr;

/// Twenty trades, each fourth with the flag set.
Sample flagged(const std::string& set, const std::string& not_set) {
  std::string text;
  for (int n = 0; n < 20; ++n) {
    text += R"({"sym":"KLVN","px":48.3)" + std::to_string(n % 7) + R"(,"qty":)" + std::to_string(100 + 100 * (n % 5)) +
            R"(,"ts":17919864610)" + std::to_string(10 + n) + R"(,"extendedHours":)" + (n % 4 == 0 ? set : not_set) +
            "}\n";
  }
  return cut_sample(text);
}

void expect_that_the_rule_passes_over(const Sample& sample, const std::string& written) {
  auto proposal = propose(sample);
  ASSERT_TRUE(proposal && proposal->usable);
  EXPECT_EQ(proposal->trial.ticks, 20u);
  const std::string rule = R"({ at = "/extendedHours", equals = ")" + written + R"(", kind = "ignore" })";
  EXPECT_THAT(proposal->asked, Contains(HasSubstr("set in 5 trades and is not used")));
  EXPECT_THAT(proposal->asked, Contains(HasSubstr(rule)));
  proposal->settings.rules.push_back({"/extendedHours", written, "ignore"});
  const Trial trial = try_mapping(proposal->settings, sample);
  EXPECT_EQ(trial.ticks, 15u);
  EXPECT_EQ(trial.ignored, 5u);
}

TEST(Flags, ARuleForATruthPassesOverTheTradesThatHaveIt) {
  expect_that_the_rule_passes_over(flagged("true", "false"), "true");
}

TEST(Flags, ARuleForALetterPassesOverTheTradesThatHaveIt) {
  expect_that_the_rule_passes_over(flagged(R"("Y")", R"("N")"), "Y");
}

}  // namespace
}  // namespace brimwatch
