// Figures of open data that an independent program reckoned.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <optional>
#include <sstream>

#include "evening/block_test.h"
#include "files/daily_file.h"
#include "tests/support/data.h"

namespace brimwatch {
namespace {

constexpr std::size_t kBefore = 253, kAfter = 71, kHigh = 50, kWithin = 10, kSpan = 20;

struct PlainCrossing {
  Date day, end;
  double outcome = 0;  ///< from the entry to the close of the 20th session after, percent
  bool surge = false;
};

/// By the definition: the highest high of the last 50 sessions + 0.10, at least 5 sessions old, above the close; the
/// first of the next ten sessions that reaches it; not bought where it opens more than 5 % above.
std::optional<PlainCrossing> crossing_after(const std::vector<DailyBar>& bars, std::size_t known) {
  std::size_t top = known - kHigh;
  for (std::size_t i = top; i < known; ++i) top = bars[i].high > bars[top].high ? i : top;
  const Price pivot{bars[top].high.micros + 100'000};
  if (known - 1 - top < 5 || pivot <= bars[known - 1].close) return std::nullopt;
  for (std::size_t i = known; i < known + kWithin; ++i) {
    if (bars[i].high < pivot) continue;
    if (bars[i].open.micros * 100 > pivot.micros * 105) return std::nullopt;
    double normal = 0;
    for (std::size_t k = i - kHigh; k < i; ++k) normal += bars[k].volume / kHigh;
    const double entry = std::max(bars[i].open, pivot).as_double();
    return PlainCrossing{bars[i].day, bars[i + kSpan].day, 100 * (bars[i + kSpan].close.as_double() / entry - 1),
                         bars[i].volume >= 1.4 * normal};
  }
  return std::nullopt;
}

/// Date,Open,High,Low,Close,Adj Close,Volume as the file has them, six decimals and all; rows with "null" are left out.
std::vector<DailyBar> raw_bars(const std::filesystem::path& path) {
  std::ifstream file(path);
  std::vector<DailyBar> out;
  std::string line;
  for (std::getline(file, line); std::getline(file, line);) {
    if (line.find("null") != std::string::npos) continue;
    std::istringstream fields(line);
    std::vector<std::string> f;
    for (std::string field; std::getline(fields, field, ',');) f.push_back(field);
    const auto at = [&](std::size_t i) { return *parse_price(f.at(i)); };
    out.push_back({*parse_date(f.at(0)), at(1), at(2), at(3), at(4), std::stod(f.at(6))});
  }
  return out;
}

void add_stock(const std::vector<DailyBar>& bars, std::vector<PlainCrossing>& out) {
  for (Date friday = Date::of(2013, 9, 6); friday <= Date::of(2017, 5, 26); friday = friday + 14) {
    const auto known = static_cast<std::size_t>(last_bar_by(bars, friday) + 1);
    if (known < kBefore || bars.size() - known < kAfter) continue;
    if (const auto one = crossing_after(bars, known)) out.push_back(*one);
  }
}

void add(Part& part, double value) { part.sum += value, ++part.count; }

// stocknet (MIT), 86 large stocks: crossings of plain 50-day highs, those with a surge against all, by their closes after
// 20 sessions less SPY's (Lean sample data, Apache-2.0), sessions from 2013-09-09.
TEST(OpenData, the_block_test_of_crossings_with_a_surge_comes_to_the_figures_of_an_independent_program) {
  BRIMWATCH_NEEDS_DATA("daily/stocknet");
  const auto index = read_daily(test::data_path("daily/SPY.csv"), DailyRows::readable);
  ASSERT_TRUE(index) << index.error().text;
  std::vector<PlainCrossing> crossings;
  for (const auto& file : std::filesystem::directory_iterator(test::data_path("daily/stocknet"))) {
    if (file.path().extension() == ".csv") add_stock(raw_bars(file.path()), crossings);
  }
  std::map<Date, SessionPair> sessions;
  for (const DailyBar& bar : index->bars) {
    if (bar.day >= Date::of(2013, 9, 9) && bar.day <= Date::of(2017, 6, 9)) sessions[bar.day];
  }
  const auto level = [&](Date day) { return index->bars[static_cast<std::size_t>(last_bar_by(index->bars, day))].close; };
  for (const PlainCrossing& one : crossings) {
    const double less = one.outcome - 100 * (level(one.end).as_double() / level(one.day).as_double() - 1);
    add(sessions[one.day].a, less);
    if (one.surge) add(sessions[one.day].b, less);
  }
  std::vector<SessionPair> pairs;
  Part all, surged;
  for (const auto& [day, pair] : sessions) {
    pairs.push_back(pair);
    all.count += pair.a.count, surged.count += pair.b.count;
  }
  EXPECT_EQ(all.count, 1204);
  EXPECT_EQ(surged.count, 390);
  const auto test = block_test(pairs, kSpan);
  ASSERT_TRUE(test);
  EXPECT_EQ(test->blocks, 23);
  EXPECT_NEAR(test->difference, 0.080, 0.0005);
  EXPECT_NEAR(test->error, 0.289, 0.0005);
}

}  // namespace
}  // namespace brimwatch
