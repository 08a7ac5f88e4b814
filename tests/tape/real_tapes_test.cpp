// Every real tape of the open data, read by us and by Python's csv, datetime and decimal modules
// (tests/reference/tape_sums.py). Source: IBM and BAC, all trades of the consolidated tape, 2013-10-07 to -11, from the
// sample data of an Apache-2.0 project.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <vector>

#include "tests/support/data.h"
#include "tests/support/process.h"
#include "ticks.h"

namespace brimwatch {
namespace {

std::string sums_of(const WholeTape& tape) {
  std::uint64_t sums[7] = {};
  for (const Tick& tick : tape.ticks) {
    const auto price = static_cast<std::uint64_t>(tick.price.micros);
    sums[0] += 1;
    sums[1] += static_cast<std::uint64_t>(tick.time.ns);
    sums[2] += price;
    sums[3] += static_cast<std::uint64_t>(tick.size.micros);
    for (const char code : tick.conditions.view()) sums[4] += static_cast<unsigned char>(code);
    sums[5] += static_cast<unsigned char>(tick.exchange);
    sums[6] += sums[0] * price;
  }
  std::string text;
  for (const std::uint64_t sum : sums) text += (text.empty() ? "" : " ") + std::to_string(sum);
  return text + "\n";
}

TEST(RealTapes, AgreeWithAnIndependentReading) {
  BRIMWATCH_NEEDS_DATA("tapes");
  std::vector<std::string> paths;
  for (const auto& entry : std::filesystem::directory_iterator(test::data_path("tapes"))) {
    if (entry.path().string().ends_with(".csv.zst")) paths.push_back(entry.path().string());
  }
  std::sort(paths.begin(), paths.end());
  ASSERT_FALSE(paths.empty());
  std::string command = std::string("/usr/bin/python3 ") + BRIMWATCH_SOURCE_DIR + "/tests/reference/tape_sums.py";
  std::string ours;
  for (const std::string& path : paths) {
    command += " '" + path + "'";
    WholeTape tape;
    read_whole(tape, path);
    EXPECT_EQ(tape.error, "") << path;
    EXPECT_EQ(tape.stats.malformed, 0u) << path;
    EXPECT_FALSE(tape.stats.torn) << path;
    ours += sums_of(tape);
  }
  const test::Run reference = test::run(command);
  ASSERT_EQ(reference.code, 0);
  EXPECT_EQ(ours, reference.out);
}

}  // namespace
}  // namespace brimwatch
