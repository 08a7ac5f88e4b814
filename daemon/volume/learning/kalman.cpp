#include "volume/learning/kalman.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace brimwatch {
namespace {

/// One step's filtered, predicted and smoothed state.
struct Step {
  KalmanState predicted, filtered, smoothed;
  double cross_ee = 0, cross_mm = 0;  ///< E[x_t x_(t-1)] of the smoothed states
};

KalmanState filter(const KalmanModel& model, std::span<const double> logs, KalmanState state, std::vector<Step>& steps) {
  const std::size_t bins = model.phi.size();
  steps.resize(logs.size());
  for (std::size_t t = 0; t < logs.size(); ++t) {
    if (t > 0) kalman_predict(model, t % bins == 0, state);
    steps[t].predicted = state;
    kalman_update(model, t % bins, logs[t], state);
    steps[t].filtered = state;
  }
  return state;
}

/// Rauch, Tung and Striebel's pass backwards over one step, with the covariance of neighbours.
void smooth_step(const KalmanModel& model, bool night, Step& now, Step& next) {
  const double a = night ? model.a_eta : 1, b = model.a_mu;
  const KalmanState &f = now.filtered, &p = next.predicted, &s = next.smoothed;
  const double det = p.ee * p.mm - p.em * p.em;
  // J = F A' P^-1, F the filtered covariance here, P the predicted one there
  const double fa11 = f.ee * a, fa12 = f.em * b, fa21 = f.em * a, fa22 = f.mm * b;
  const double j11 = (fa11 * p.mm - fa12 * p.em) / det, j12 = (fa12 * p.ee - fa11 * p.em) / det;
  const double j21 = (fa21 * p.mm - fa22 * p.em) / det, j22 = (fa22 * p.ee - fa21 * p.em) / det;
  const double de = s.eta - p.eta, dm = s.mu - p.mu;
  const double d11 = s.ee - p.ee, d12 = s.em - p.em, d22 = s.mm - p.mm;
  KalmanState& out = now.smoothed;
  out.eta = f.eta + j11 * de + j12 * dm;
  out.mu = f.mu + j21 * de + j22 * dm;
  out.ee = f.ee + j11 * (d11 * j11 + d12 * j12) + j12 * (d12 * j11 + d22 * j12);
  out.em = f.em + j11 * (d11 * j21 + d12 * j22) + j12 * (d12 * j21 + d22 * j22);
  out.mm = f.mm + j21 * (d11 * j21 + d12 * j22) + j22 * (d12 * j21 + d22 * j22);
  next.cross_ee = s.ee * j11 + s.em * j12 + s.eta * out.eta;
  next.cross_mm = s.em * j21 + s.mm * j22 + s.mu * out.mu;
}

void smooth(const KalmanModel& model, std::vector<Step>& steps) {
  const std::size_t bins = model.phi.size();
  steps.back().smoothed = steps.back().filtered;
  for (std::size_t t = steps.size() - 1; t-- > 0;) smooth_step(model, (t + 1) % bins == 0, steps[t], steps[t + 1]);
}

double second_ee(const KalmanState& s) { return s.ee + s.eta * s.eta; }
double second_mm(const KalmanState& s) { return s.mm + s.mu * s.mu; }

void maximise_states(KalmanModel& model, const std::vector<Step>& steps) {
  const std::size_t bins = model.phi.size();
  double ee_cross = 0, ee_before = 0, ee_now = 0, mm_cross = 0, mm_before = 0, mm_now = 0;
  double nights = 0;
  for (std::size_t t = 1; t < steps.size(); ++t) {
    mm_cross += steps[t].cross_mm;
    mm_before += second_mm(steps[t - 1].smoothed);
    mm_now += second_mm(steps[t].smoothed);
    if (t % bins != 0) continue;
    nights += 1;
    ee_cross += steps[t].cross_ee;
    ee_before += second_ee(steps[t - 1].smoothed);
    ee_now += second_ee(steps[t].smoothed);
  }
  model.a_mu = mm_cross / mm_before;
  model.q_mu =
      (mm_now + model.a_mu * model.a_mu * mm_before - 2 * model.a_mu * mm_cross) / static_cast<double>(steps.size() - 1);
  if (nights < 2) return;
  model.a_eta = ee_cross / ee_before;
  model.q_eta = (ee_now + model.a_eta * model.a_eta * ee_before - 2 * model.a_eta * ee_cross) / nights;
}

void maximise_observation(KalmanModel& model, std::span<const double> logs, const std::vector<Step>& steps) {
  const std::size_t bins = model.phi.size();
  std::vector<double> sums(bins), counts(bins);
  for (std::size_t t = 0; t < logs.size(); ++t) {
    if (std::isnan(logs[t])) continue;
    sums[t % bins] += logs[t] - steps[t].smoothed.eta - steps[t].smoothed.mu;
    counts[t % bins] += 1;
  }
  for (std::size_t i = 0; i < bins; ++i) model.phi[i] = counts[i] > 0 ? sums[i] / counts[i] : 0;
  double squares = 0, seen = 0;
  for (std::size_t t = 0; t < logs.size(); ++t) {
    if (std::isnan(logs[t])) continue;
    const KalmanState& s = steps[t].smoothed;
    const double off = logs[t] - model.phi[t % bins] - s.eta - s.mu;
    squares += off * off + s.ee + 2 * s.em + s.mm;
    seen += 1;
  }
  if (seen == 0) return;  // no bin was seen: there is nothing to fit
  model.r = squares / seen;
  const double mean = std::accumulate(model.phi.begin(), model.phi.end(), 0.0) / static_cast<double>(bins);
  for (double& phi : model.phi) phi -= mean;
}

std::vector<double> bin_means(std::span<const double> logs, std::size_t bins) {
  std::vector<double> sums(bins), counts(bins);
  for (std::size_t t = 0; t < logs.size(); ++t) {
    if (!std::isnan(logs[t])) sums[t % bins] += logs[t], counts[t % bins] += 1;
  }
  double mean = 0;
  for (std::size_t i = 0; i < bins; ++i) mean += (sums[i] /= std::max(1.0, counts[i])) / static_cast<double>(bins);
  for (double& sum : sums) sum -= mean;
  return sums;
}

std::vector<double> day_logs(const BarSeries& series, const SessionBars& day, std::size_t bins) {
  std::vector<double> logs(bins, std::nan(""));
  for (const BarVolume& bar : day.bars) {
    const auto bin = static_cast<std::size_t>((series.end_of(bar.minute) - series.first_end) / series.bar_minutes);
    if (bin < bins && bar.volume > 0) logs[bin] = std::log(static_cast<double>(bar.volume));
  }
  return logs;
}

}  // namespace

KalmanState kalman_start(std::span<const double> logs) {
  double sum = 0, count = 0;
  for (const double one : logs) {
    if (!std::isnan(one)) sum += one, count += 1;
  }
  return {count > 0 ? sum / count : 0, 0, 1, 0, 0.1};
}

void kalman_predict(const KalmanModel& model, bool night, KalmanState& s) {
  const double a = night ? model.a_eta : 1;
  s.eta *= a;
  s.mu *= model.a_mu;
  s.ee = a * a * s.ee + (night ? model.q_eta : 0);
  s.em *= a * model.a_mu;
  s.mm = model.a_mu * model.a_mu * s.mm + model.q_mu;
}

void kalman_update(const KalmanModel& model, std::size_t bin, double log_volume, KalmanState& s) {
  if (std::isnan(log_volume)) return;
  const double variance = s.ee + 2 * s.em + s.mm + model.r;
  const double off = log_volume - model.phi[bin] - s.eta - s.mu;
  const double ke = (s.ee + s.em) / variance, km = (s.em + s.mm) / variance;
  s.eta += ke * off;
  s.mu += km * off;
  s.ee -= ke * ke * variance;
  s.em -= ke * km * variance;
  s.mm -= km * km * variance;
}

KalmanModel kalman_fit(KalmanModel model, std::span<const double> logs, std::size_t bins, int rounds) {
  if (logs.size() < 2 * bins) return model;
  if (model.phi.size() != bins) model.phi = bin_means(logs, bins);
  std::vector<Step> steps;
  KalmanState start = kalman_start(logs);
  for (int round = 0; round < rounds; ++round) {
    const KalmanModel before = model;
    filter(model, logs, start, steps);
    smooth(model, steps);
    maximise_states(model, steps);
    maximise_observation(model, logs, steps);
    start = steps.front().smoothed;
    start.ee = std::max(start.ee, 1e-6);
    start.mm = std::max(start.mm, 1e-6);
    const double moved =
        std::fabs(model.a_mu - before.a_mu) + std::fabs(model.q_eta - before.q_eta) + std::fabs(model.r - before.r);
    if (moved < 1e-7) break;
  }
  return model;
}

RemainderView kalman_remainder(const KalmanModel& model, const KalmanState& state, std::size_t from, double so_far) {
  const std::size_t bins = model.phi.size();
  std::vector<double> decay, drift, mean;  // of mu from here: a^k, its own variance, and ln of the bin's expected volume
  double a = 1, q = 0;
  for (std::size_t bin = from; bin < bins; ++bin) {
    a *= model.a_mu;
    q = model.a_mu * model.a_mu * q + model.q_mu;
    const double variance = state.ee + 2 * a * state.em + a * a * state.mm + q + model.r;
    decay.push_back(a);
    drift.push_back(q);
    mean.push_back(std::exp(model.phi[bin] + state.eta + a * state.mu + variance / 2));
  }
  double total = 0, square = 0;
  for (std::size_t i = 0; i < mean.size(); ++i) {
    total += mean[i];
    for (std::size_t k = 0; k <= i; ++k) {
      const double shared = state.ee + (decay[i] + decay[k]) * state.em + decay[i] * decay[k] * state.mm +
                            drift[k] * decay[i] / decay[k] + (i == k ? model.r : 0);
      square += (i == k ? 1 : 2) * mean[i] * mean[k] * std::expm1(shared);
    }
  }
  const double variance = std::log1p(square / (total * total));
  return {so_far, std::log(total) - variance / 2, std::sqrt(variance), true};
}

double kalman_one_ahead_error(const KalmanModel& model, std::span<const double> train, std::span<const double> test) {
  std::vector<Step> steps;
  KalmanState state = filter(model, train, kalman_start(train), steps);
  const std::size_t bins = model.phi.size();
  double sum = 0, count = 0;
  for (std::size_t t = 0; t < test.size(); ++t) {
    kalman_predict(model, t % bins == 0, state);
    if (!std::isnan(test[t])) {
      sum += std::fabs(std::expm1(model.phi[t % bins] + state.eta + state.mu - test[t]));
      count += 1;
    }
    kalman_update(model, t % bins, test[t], state);
  }
  return count > 0 ? sum / count : 0;
}

LogBins kalman_bins(const BarSeries& series, std::size_t bins) {
  LogBins logs;
  for (const SessionBars& day : series.days) {
    if (!is_whole(day)) continue;
    const auto one = day_logs(series, day, bins);
    logs.insert(logs.end(), one.begin(), one.end());
  }
  return logs;
}

void walk_kalman(const BarSeries& series, const WalkOptions& options, const GradeSink& sink) {
  constexpr std::size_t kRefitDays = 20;
  constexpr int kRounds = 60;
  if (series.bar_minutes <= 0) return;
  const auto bins = static_cast<std::size_t>(1 + std::ceil((390.0 - series.first_end) / series.bar_minutes));
  KalmanModel model;
  KalmanState state;
  LogBins seen;
  std::vector<double> totals;
  for (const SessionBars& day : series.days) {
    if (!is_whole(day)) continue;
    const auto logs = day_logs(series, day, bins);
    const bool graded = totals.size() >= kWarmUpDays;
    if (graded && (totals.size() - kWarmUpDays) % kRefitDays == 0) {
      model = kalman_fit(model, seen, bins, kRounds);
      std::vector<Step> steps;
      state = filter(model, seen, kalman_start(seen), steps);
    }
    double so_far = 0, normal = 0;
    for (std::size_t i = totals.size() - std::min<std::size_t>(totals.size(), kWarmUpDays); i < totals.size(); ++i)
      normal += totals[i] / kWarmUpDays;
    for (std::size_t bin = 0; graded && bin + 1 < bins; ++bin) {
      kalman_predict(model, bin == 0, state);
      kalman_update(model, bin, logs[bin], state);
      so_far += std::isnan(logs[bin]) ? 0 : std::exp(logs[bin]);
      const double minute = series.first_end + static_cast<double>(bin) * series.bar_minutes;
      if (std::find(options.minutes.begin(), options.minutes.end(), minute) == options.minutes.end()) continue;
      sink(day, {minute, kalman_remainder(model, state, bin + 1, so_far), day.total, 1.4 * normal, so_far * 390 / minute,
                 so_far});
    }
    if (graded) {  // the last bin
      kalman_predict(model, false, state);
      kalman_update(model, bins - 1, logs[bins - 1], state);
    }
    seen.insert(seen.end(), logs.begin(), logs.end());
    totals.push_back(day.total);
  }
}

}  // namespace brimwatch
