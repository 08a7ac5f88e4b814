#include "desk/market.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

/// Closes that rise by a hundredth a day, or fall.
std::vector<DailyBar> index_to(Date last, int count, int step) {
  std::vector<DailyBar> bars;
  for (int i = 0; i < count; ++i) {
    const Price close{100 * kMicrosPerUnit + i * step * 10'000};
    bars.push_back({last - (count - 1 - i), close, close, close, close, 1});
  }
  return bars;
}

TEST(Market, IsUpOverBothMeansAndDownUnderBoth) {
  const Date day = *parse_date("2026-11-27");
  EXPECT_EQ(trend_before(index_to(day - 1, 200, 1), day), Trend::up);
  EXPECT_EQ(trend_before(index_to(day - 1, 200, -1), day), Trend::down);
  EXPECT_EQ(trend_before(index_to(day - 1, 199, 1), day), Trend::unknown) << "a bar too few for the longer mean";
}

TEST(Market, AnIndexThatEndedWeeksAgoSaysNothing) {
  const auto bars = index_to(*parse_date("2026-11-13"), 300, 1);
  EXPECT_EQ(trend_before(bars, *parse_date("2026-11-27")), Trend::up);
  EXPECT_EQ(trend_before(bars, *parse_date("2026-11-28")), Trend::unknown);
  EXPECT_EQ(trend_before(bars, *parse_date("2029-11-27")), Trend::unknown);
}

}  // namespace
}  // namespace brimwatch
