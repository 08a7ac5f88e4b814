// The writers of numbers against one table, which the page's (config/page/text.js) are held against too.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "core/price.h"
#include "core/shares.h"
#include "core/text/json.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

Json table() {
  std::ifstream file(BRIMWATCH_SOURCE_DIR "/tests/core/numbers.json");
  return Json::parse(file);
}

TEST(Numbers, HaveOneFace) {
  const Json all = table();
  for (const auto& row : all["price"])
    EXPECT_EQ(to_string(Price{std::llround(row[0].get<double>() * kMicrosPerUnit)}), row[1]);
  for (const auto& row : all["shares"]) EXPECT_EQ(brief(row[0].get<double>()), row[1]);
  for (const auto& row : all["odds"])
    EXPECT_EQ(odds_text(row[0].get<double>(), weight_of(row[1].get<std::string>()).value()), row[2]);
  for (const auto& row : all["percent"])
    EXPECT_EQ(percent_text(row[0].get<double>(), row[1].get<int>()), row[2].get<std::string>() + " %");
}

}  // namespace
}  // namespace brimwatch
