#include "desk/market.h"

#include <algorithm>

namespace brimwatch {
namespace {

double mean_of_last(const std::vector<DailyBar>& bars, std::size_t end, std::size_t count) {
  double sum = 0;
  for (std::size_t i = end - count; i < end; ++i) sum += bars[i].close.as_double();
  return sum / static_cast<double>(count);
}

}  // namespace

Trend trend_before(const std::vector<DailyBar>& index, Date day) {
  const auto first_not_before =
      std::lower_bound(index.begin(), index.end(), day, [](const DailyBar& bar, Date d) { return bar.day < d; });
  const auto end = static_cast<std::size_t>(first_not_before - index.begin());
  if (end < 200 || day - index[end - 1].day > kOldestIndexDays) return Trend::unknown;
  const double close = index[end - 1].close.as_double();
  const bool over50 = close > mean_of_last(index, end, 50);
  const bool over200 = close > mean_of_last(index, end, 200);
  if (over50 && over200) return Trend::up;
  return over50 || over200 ? Trend::mixed : Trend::down;
}

}  // namespace brimwatch
