#include "crossings/tally.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace brimwatch {

ClusteredShare share_by_month(std::span<const Counted> counted) {
  ClusteredShare out;
  out.count = static_cast<int>(counted.size());
  if (counted.empty()) return out;
  for (const Counted& one : counted) out.share += one.came ? 1.0 : 0.0;
  out.share /= out.count;
  std::map<int, double> months;
  for (const Counted& one : counted) {
    const auto day = one.day.ymd();
    const int month = static_cast<int>(day.year()) * 12 + static_cast<int>(static_cast<unsigned>(day.month()));
    months[month] += (one.came ? 1.0 : 0.0) - out.share;
  }
  if (months.size() < 2) return out;
  double squares = 0;
  for (const auto& [month, sum] : months) squares += sum * sum;
  out.half = 1.96 * std::sqrt(squares) / out.count;
  return out;
}

double area_under_curve(std::vector<Forecast> forecasts) {
  std::sort(forecasts.begin(), forecasts.end(), [](const Forecast& a, const Forecast& b) { return a.said < b.said; });
  double ranks = 0, came = 0;
  for (std::size_t from = 0, to = 0; from < forecasts.size(); from = to) {
    double here = 0;
    for (; to < forecasts.size() && forecasts[to].said == forecasts[from].said; ++to) here += forecasts[to].came ? 1 : 0;
    ranks += here * (static_cast<double>(from + to - 1) / 2 + 1);
    came += here;
  }
  const double not_come = static_cast<double>(forecasts.size()) - came;
  if (came == 0 || not_come == 0) return 0.5;
  return (ranks - came * (came + 1) / 2) / (came * not_come);
}

double brier(std::span<const Forecast> forecasts) {
  double sum = 0;
  for (const Forecast& one : forecasts) sum += std::pow(one.said - (one.came ? 1 : 0), 2);
  return forecasts.empty() ? 0 : sum / static_cast<double>(forecasts.size());
}

}  // namespace brimwatch
