#include "weekend/weekly.h"

#include <algorithm>

namespace brimwatch {
namespace {

/// 1970-01-01 was a Thursday: days since the Monday before it, in weeks.
int week_of(Date day) { return (day.days + 3) / 7; }

}  // namespace

std::vector<DailyBar> weekly_bars(std::span<const DailyBar> bars) {
  std::vector<DailyBar> out;
  for (const DailyBar& bar : bars) {
    if (out.empty() || week_of(out.back().day) != week_of(bar.day)) {
      out.push_back(bar);
      continue;
    }
    DailyBar& week = out.back();
    week.day = bar.day;
    week.high = std::max(week.high, bar.high);
    week.low = std::min(week.low, bar.low);
    week.close = bar.close;
    week.volume += bar.volume;
  }
  return out;
}

std::optional<double> mean_of_weeks(std::span<const DailyBar> weekly, int last, int weeks) {
  if (last + 1 < weeks) return std::nullopt;
  double sum = 0;
  for (int i = last - weeks + 1; i <= last; ++i) sum += weekly[static_cast<std::size_t>(i)].close.as_double();
  return sum / weeks;
}

std::optional<double> ten_week_mean(std::span<const DailyBar> bars) {
  double sum = 0;
  int weeks = 0, week = 0;
  for (auto bar = bars.rbegin(); bar != bars.rend() && weeks < kMeanWeeks; ++bar) {
    if (weeks > 0 && week_of(bar->day) == week) continue;
    week = week_of(bar->day);
    sum += bar->close.as_double();
    ++weeks;
  }
  if (weeks < kMeanWeeks) return std::nullopt;
  return sum / weeks;
}

}  // namespace brimwatch
