#include "volume/grading/score.h"

#include <algorithm>
#include <array>
#include <boost/math/special_functions/erf.hpp>
#include <cmath>

#include "volume/students_t.h"

namespace brimwatch {
namespace {

constexpr int kQuantiles = 99;
using Steps = std::array<double, kQuantiles>;

double normal_inverse(double p) { return -std::sqrt(2.0) * boost::math::erfc_inv(2 * p); }
double normal_cdf(double x) { return 0.5 * std::erfc(-x / std::sqrt(2.0)); }

Steps make_steps(double (*inverse)(double)) {
  Steps steps{};
  for (int i = 0; i < kQuantiles; ++i) steps[static_cast<std::size_t>(i)] = inverse((i + 1) / 100.0);
  return steps;
}

const Steps& steps_of(bool normal_tails) {
  static const Steps student = make_steps(skewed_t8_inverse), normal = make_steps(normal_inverse);
  return normal_tails ? normal : student;
}

double quantile(const RemainderView& f, double p) {
  return f.so_far + std::exp(f.mu + f.spread * (f.normal_tails ? normal_inverse(p) : skewed_t8_inverse(p)));
}

bool within(const RemainderView& f, double total, double tail) {
  return quantile(f, tail) <= total && total <= quantile(f, 1 - tail);
}

double ratio(double part, double all) { return all > 0 ? part / all : 0; }

}  // namespace

double odds_at_least(const RemainderView& f, double wanted) {
  if (f.so_far >= wanted) return 1;
  const double x = (std::log(wanted - f.so_far) - f.mu) / f.spread;
  return 1 - (f.normal_tails ? normal_cdf(x) : skewed_t8_cdf(x));
}

double crps_of(const RemainderView& f, double total) {
  const Steps& steps = steps_of(f.normal_tails);
  const double came = std::log(total);
  double sum = 0;
  for (int i = 0; i < kQuantiles; ++i) {
    const double tau = (i + 1) / 100.0;
    const double off = came - std::log(f.so_far + std::exp(f.mu + f.spread * steps[static_cast<std::size_t>(i)]));
    sum += off >= 0 ? tau * off : (tau - 1) * off;
  }
  return 2 * sum / kQuantiles;
}

CallScore score_calls(const std::vector<std::pair<double, bool>>& odds, double level) {
  double called = 0, right = 0, came = 0;
  for (const auto& [p, has_come] : odds) {
    called += p >= level;
    right += p >= level && has_come;
    came += has_come;
  }
  return {ratio(right, called), ratio(right, came)};
}

double area_under_curve(std::vector<std::pair<double, bool>> odds) {
  std::sort(odds.begin(), odds.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  double hits = 0, misses = 0, pairs = 0;
  for (std::size_t from = 0, to = 0; from < odds.size(); from = to) {
    double tied_hits = 0, tied_misses = 0;
    for (; to < odds.size() && odds[to].first == odds[from].first; ++to) (odds[to].second ? tied_hits : tied_misses) += 1;
    pairs += tied_hits * (misses + tied_misses / 2);
    hits += tied_hits;
    misses += tied_misses;
  }
  return hits > 0 && misses > 0 ? pairs / (hits * misses) : 0.5;
}

void Scores::add(const GradedForecast& one) {
  Tally& tally = tallies_[one.minute];
  const RemainderView& f = one.forecast;
  tally.errors.push_back(static_cast<float>(std::fabs((f.so_far + std::exp(f.mu)) / one.total - 1)));
  tally.odds.emplace_back(odds_at_least(f, one.wanted), one.total >= one.wanted);
  tally.inside80 += within(f, one.total, 0.10);
  tally.inside90 += within(f, one.total, 0.05);
  tally.crps += crps_of(f, one.total);
  tally.linear += std::fabs(one.linear / one.total - 1);
  tally.profile += std::fabs(one.profile / one.total - 1);
  const double error = std::log(std::max(one.total - f.so_far, 1e-3)) - f.mu;
  tally.bias += error;
  tally.squares += error * error;
}

ScorePoint Scores::finish(double minute, const Tally& tally) {
  const auto n = static_cast<double>(tally.errors.size());
  std::vector<float> errors = tally.errors;
  std::sort(errors.begin(), errors.end());
  ScorePoint out;
  out.minute = minute;
  out.days = static_cast<int>(n);
  for (const float error : errors) out.mape += error;
  out.mape *= 100 / n;
  const std::size_t half = errors.size() / 2;
  out.mdape = 100.0 * (errors.size() % 2 == 1 ? errors[half] : (errors[half - 1] + errors[half]) / 2);
  out.cover80 = tally.inside80 / n;
  out.cover90 = tally.inside90 / n;
  out.crps = tally.crps / n;
  out.linear_mape = 100 * tally.linear / n;
  out.profile_mape = 100 * tally.profile / n;
  out.bias = tally.bias / n;
  out.error_sd = std::sqrt(std::max(0.0, tally.squares / n - out.bias * out.bias));
  for (const auto& [p, came] : tally.odds) {
    out.base_rate += came / n;
    out.brier += (p - came) * (p - came) / n;
  }
  const double chance = out.base_rate * (1 - out.base_rate);
  out.brier_skill = chance > 0 ? 1 - out.brier / chance : 0;
  out.auc = area_under_curve(tally.odds);
  const CallScore at50 = score_calls(tally.odds, 0.5), at70 = score_calls(tally.odds, 0.7);
  out.precision_50 = at50.precision;
  out.recall_50 = at50.recall;
  out.precision_70 = at70.precision;
  out.recall_70 = at70.recall;
  return out;
}

std::vector<ScorePoint> Scores::points() const {
  std::vector<ScorePoint> out;
  for (const auto& [minute, tally] : tallies_) out.push_back(finish(minute, tally));
  return out;
}

}  // namespace brimwatch
