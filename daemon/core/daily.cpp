#include "core/daily.h"

#include <algorithm>

namespace brimwatch {

Price without_float_noise(Price price) {
  constexpr std::int64_t kCent = 10'000;
  const std::int64_t cent = (price.micros + kCent / 2) / kCent * kCent;
  const std::int64_t off = price.micros > cent ? price.micros - cent : cent - price.micros;
  return off * 10'000'000 <= price.micros ? Price{cent} : price;
}

int last_bar_by(const std::vector<DailyBar>& bars, Date day) {
  const auto after =
      std::upper_bound(bars.begin(), bars.end(), day, [](Date d, const DailyBar& bar) { return d < bar.day; });
  return static_cast<int>(after - bars.begin()) - 1;
}

}  // namespace brimwatch
