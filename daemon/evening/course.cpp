#include "evening/course.h"

#include <algorithm>

namespace brimwatch {
namespace {

Price or_close(Price price, Price close) { return price.is_set() ? price : close; }

DailyBar bar_of(Date date, const DayRecord& day) {
  return {date,      or_close(day.open, day.close), or_close(day.high, day.close), or_close(day.low, day.close),
          day.close, day.volume.as_double()};
}

bool is_before(const DailyBar& a, const DailyBar& b) { return a.day < b.day; }

}  // namespace

std::vector<DailyBar> course_of(const ReviewInput& input, const std::string& symbol) {
  const auto bars = input.bars.find(symbol);
  return course_of(input, symbol, bars == input.bars.end() ? std::vector<DailyBar>{} : bars->second);
}

std::vector<DailyBar> course_of(const ReviewInput& input, const std::string& symbol, const std::vector<DailyBar>& bars) {
  std::vector<DailyBar> out;
  for (const DailyBar& bar : bars) {
    if (!bar.close.is_set()) continue;
    out.push_back({bar.day, or_close(bar.open, bar.close), or_close(bar.high, bar.close), or_close(bar.low, bar.close),
                   bar.close, bar.volume});
  }
  const auto official = static_cast<std::ptrdiff_t>(out.size());
  for (auto day = input.days.lower_bound({symbol, Date{INT32_MIN}}); day != input.days.end(); ++day) {
    if (day->first.first != symbol) break;
    const bool known =
        std::binary_search(out.begin(), out.begin() + official, bar_of(day->first.second, day->second), is_before);
    if (!known && day->second.close.is_set()) out.push_back(bar_of(day->first.second, day->second));
  }
  std::sort(out.begin(), out.end(), is_before);
  return out;
}

}  // namespace brimwatch
