// Every file in tests/scenario/files is one test, run as it is written and once more with a restart from the kept state
// after every single event: the second must say exactly the same.
#include "support/scenario.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>

namespace brimwatch::test {
namespace {

std::vector<std::string> files() {
  std::vector<std::string> out;
  for (const auto& entry : std::filesystem::directory_iterator(BRIMWATCH_SOURCE_DIR "/tests/scenario/files")) {
    if (entry.path().extension() == ".txt") out.push_back(entry.path().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

std::string name_of(const testing::TestParamInfo<std::string>& info) {
  std::string name = std::filesystem::path(info.param).stem().string();
  std::replace(name.begin(), name.end(), '-', '_');
  return name;
}

class Scenarios : public testing::TestWithParam<std::string> {};

TEST_P(Scenarios, says_what_is_written) {
  const Scenario scenario = read_scenario(GetParam());
  EXPECT_FALSE(scenario.why.empty()) << "every scenario says why";
  EXPECT_THAT(run_scenario(scenario, Restarts::as_written), testing::IsEmpty()) << scenario.why;
}

TEST_P(Scenarios, says_the_same_with_a_restart_after_every_event) {
  const Scenario scenario = read_scenario(GetParam());
  EXPECT_THAT(run_scenario(scenario, Restarts::after_every_event), testing::IsEmpty()) << scenario.why;
}

INSTANTIATE_TEST_SUITE_P(Files, Scenarios, testing::ValuesIn(files()), name_of);

}  // namespace
}  // namespace brimwatch::test
