#include "volume/learning/prior.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <vector>

namespace brimwatch {
namespace {

double mean_of_last(std::span<const double> values, std::size_t most) {
  const auto part = values.last(std::min(most, values.size()));
  return std::accumulate(part.begin(), part.end(), 0.0) / static_cast<double>(part.size());
}

}  // namespace

Prior prior_from_days(std::span<const double> log_volumes) {
  if (log_volumes.empty()) return {};
  constexpr std::size_t kEnough = 20;
  if (log_volumes.size() < kEnough) {  // the widening is a judgement: it was not measured
    return {mean_of_last(log_volumes, kEnough), std::sqrt(1 + 2 / static_cast<double>(log_volumes.size()))};
  }
  const double m20 = mean_of_last(log_volumes, 20);
  return {m20 - 0.009 + 0.43 * (log_volumes.back() - m20) + 0.28 * (mean_of_last(log_volumes, 5) - m20) +
              0.24 * (mean_of_last(log_volumes, 50) - m20),
          1};
}

Prior prior_from_average(double average) {
  constexpr double kScale = 1.2;  // a judgement: yesterday's and last week's level are not known
  if (!(average > 0)) return {};
  return {std::log(average) - 0.10, kScale};
}

double half_day_level(double session_minutes, unsigned month) {
  constexpr double kFull = 390, kHalf = 210;
  constexpr unsigned kJuly = 7, kNovember = 11, kDecember = 12;
  const double level = month == kJuly ? -0.55 : month == kNovember ? -0.75 : month == kDecember ? -1.0 : -0.80;
  return level * std::clamp((kFull - session_minutes) / (kFull - kHalf), 0.0, 2.0);
}

double own_half_day_level(double usual, std::span<const double> above) {
  constexpr std::size_t kMost = 10;
  constexpr double kDamping = 16;
  const auto newest = above.last(std::min(kMost, above.size()));
  return usual + std::accumulate(newest.begin(), newest.end(), 0.0) / (static_cast<double>(newest.size()) + kDamping);
}

double daily_deviation(std::span<const double> closes) {
  constexpr std::size_t kMost = 20, kLeast = 10;
  constexpr double kSplit = 0.35;
  std::vector<double> returns;
  for (std::size_t i = closes.size(); i-- > 1 && returns.size() < kMost;) {
    if (!(closes[i] > 0) || !(closes[i - 1] > 0)) continue;
    const double change = std::log(closes[i] / closes[i - 1]);
    if (std::fabs(change) < kSplit) returns.push_back(change);
  }
  if (returns.size() < kLeast) return 0;
  const double mean = std::accumulate(returns.begin(), returns.end(), 0.0) / static_cast<double>(returns.size());
  double sum = 0;
  for (const double change : returns) sum += (change - mean) * (change - mean);
  return std::sqrt(sum / static_cast<double>(returns.size() - 1));
}

double split_ratio(double open, double previous_close) {
  constexpr double kNear = 0.035;
  if (!(open > 0) || !(previous_close > 0)) return 1;
  const double jump = std::log(previous_close / open);
  for (const auto& [ratio, name] : kSplitRatios) {
    if (ratio < 2) continue;  // prices do fall by a third without one
    if (std::fabs(std::fabs(jump) - std::log(ratio)) < kNear) return jump > 0 ? ratio : 1 / ratio;
  }
  return 1;
}

}  // namespace brimwatch
