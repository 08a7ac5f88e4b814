#include "volume/grading/reliability.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>

namespace brimwatch {
namespace {

constexpr int kFewestJudgements = 30;
constexpr int kFewestDays = 10;
constexpr double kBeyondChance = 2.576;  // one week in a hundred by chance alone

/// Sum of a score over all judgements in standard errors. Its variance under honest odds is known; where the stocks of a
/// day moved together the sums by day scatter more than that, and the larger of the two counts.
struct Score {
  double sum = 0, variance = 0;
  std::map<Date, double> by_day;

  void add(Date day, double error, double weight, double p) {
    sum += weight * error;
    variance += weight * weight * p * (1 - p);
    by_day[day] += weight * error;
  }
  [[nodiscard]] double z() const {
    double clustered = 0;
    for (const auto& [day, part] : by_day) clustered += part * part;
    const double largest = std::max(variance, clustered);
    return largest > 0 ? sum / std::sqrt(largest) : 0;
  }
};

void add_to_rows(Reliability& out, const JudgedOdds& one) {
  ReliabilityRow& row = out.rows[static_cast<std::size_t>(std::min(9, static_cast<int>(one.odds * 10)))];
  ++row.count;
  row.came_true += one.came_true;
  row.said += one.odds;
}

void finish_rows(Reliability& out) {
  for (std::size_t i = 0; i < out.rows.size(); ++i) {
    ReliabilityRow& row = out.rows[i];
    row.from = static_cast<double>(i) / 10;
    row.to = static_cast<double>(i + 1) / 10;
    if (row.count == 0) continue;
    row.said /= row.count;
    row.share = static_cast<double>(row.came_true) / row.count;
    const Interval interval = wilson_interval(row.came_true, row.count);
    row.low = interval.low;
    row.high = interval.high;
  }
}

Drift verdict(const Reliability& r) {
  if (r.count < kFewestJudgements || r.days < kFewestDays) return Drift::too_few;
  if (r.level_z <= -kBeyondChance) return Drift::too_high;
  if (r.level_z >= kBeyondChance) return Drift::too_low;
  if (r.slope_z <= -kBeyondChance) return Drift::too_bold;
  if (r.slope_z >= kBeyondChance) return Drift::too_timid;
  return Drift::holds;
}

}  // namespace

Interval wilson_interval(int hits, int count, double z) {
  if (count <= 0) return {};
  const double n = count, p = hits / n, zz = z * z;
  const double middle = (p + zz / (2 * n)) / (1 + zz / n);
  const double half = z / (1 + zz / n) * std::sqrt(p * (1 - p) / n + zz / (4 * n * n));
  return {std::max(0.0, middle - half), std::min(1.0, middle + half)};
}

Reliability judge_reliability(std::span<const JudgedOdds> judged) {
  Reliability out;
  Score level, slope;
  for (const JudgedOdds& one : judged) {
    if (!(one.odds >= 0 && one.odds <= 1)) {
      ++out.left_out;
      continue;
    }
    const double error = (one.came_true ? 1 : 0) - one.odds;
    add_to_rows(out, one);
    ++out.count;
    out.said += one.odds;
    out.share += one.came_true;
    out.brier += error * error;
    level.add(one.day, error, 1, one.odds);
    slope.add(one.day, error, one.odds - 0.5, one.odds);
  }
  finish_rows(out);
  out.days = static_cast<int>(level.by_day.size());
  if (out.count == 0) return out;
  out.said /= out.count;
  out.share /= out.count;
  out.brier /= out.count;
  const double chance = out.share * (1 - out.share);
  out.brier_skill = chance > 0 ? 1 - out.brier / chance : 0;
  out.level_z = level.z();
  out.slope_z = slope.z();
  out.drift = verdict(out);
  return out;
}

std::string describe_drift(const Reliability& r) {
  char text[200];
  const auto figures = [&](const char* format) { std::snprintf(text, sizeof text, format, r.count, r.said, r.share); };
  switch (r.drift) {
    case Drift::too_few:
      std::snprintf(text, sizeof text, "Too few to judge the odds: %d decided on %d days, %d on %d are needed", r.count,
                    r.days, kFewestJudgements, kFewestDays);
      break;
    case Drift::holds:
      figures("The odds hold: %d judgements said %.2f on average, %.2f came true");
      break;
    case Drift::too_high:
      figures("The odds have drifted, they are too high: %d judgements said %.2f on average, only %.2f came true");
      break;
    case Drift::too_low:
      figures("The odds have drifted, they are too low: %d judgements said %.2f on average, %.2f came true");
      break;
    case Drift::too_bold:
      figures(
          "The odds are too bold: of %d judgements (%.2f said, %.2f came true) high odds came true less often than said, "
          "low ones more");
      break;
    case Drift::too_timid:
      figures(
          "The odds are too timid: of %d judgements (%.2f said, %.2f came true) high odds came true more often than "
          "said, low ones less");
      break;
  }
  return text;
}

}  // namespace brimwatch
