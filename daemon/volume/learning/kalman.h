#pragma once
// A state-space model of intraday volume, as published by Chen, Feng and Palomar (2016): ln of a bin's volume = a day's
// level + a short-lived one + the bin's usual + noise, filtered by Kalman's recursions and fitted by expectation
// maximisation. It is the yardstick of grading and of the tests; the daemon does not use it. Pure.
//
//   y = eta + mu + phi[bin] + v, v ~ N(0, r); overnight eta <- a_eta eta + N(0, q_eta); at each bin mu <- a_mu mu + N(0,
//   q_mu)
#include <span>
#include <vector>

#include "volume/grading/walk.h"

namespace brimwatch {

struct KalmanModel {
  double a_eta = 1, a_mu = 0.7, q_eta = 0.05, q_mu = 0.03, r = 0.1;
  std::vector<double> phi;  ///< by bin of the day, mean 0
};

/// What is believed of (eta, mu).
struct KalmanState {
  double eta = 0, mu = 0;
  double ee = 1, em = 0, mm = 1;  ///< covariance
};

/// ln volumes, whole days of phi.size() bins each; NaN where missing or zero: such a bin is only predicted over.
using LogBins = std::vector<double>;

/// Before the first bin of all.
[[nodiscard]] KalmanState kalman_start(std::span<const double> logs);
/// Moves to the next bin; `night`: it is the first of a day.
void kalman_predict(const KalmanModel& model, bool night, KalmanState& state);
void kalman_update(const KalmanModel& model, std::size_t bin, double log_volume, KalmanState& state);

/// Fits to whole days by at most `rounds` of expectation maximisation, starting from `model` (phi may be empty).
[[nodiscard]] KalmanModel kalman_fit(KalmanModel model, std::span<const double> logs, std::size_t bins, int rounds);

/// ln of the volume of bins `from`... of the day together, after the state's update at bin from - 1: the sum of
/// lognormals as one lognormal with its mean and variance.
[[nodiscard]] RemainderView kalman_remainder(const KalmanModel& model, const KalmanState& state, std::size_t from,
                                             double so_far);

/// Mean |forecast / volume - 1| of each bin of `test` from the one before, after `train`; 0.28 for 28 %.
[[nodiscard]] double kalman_one_ahead_error(const KalmanModel& model, std::span<const double> train,
                                            std::span<const double> test);

/// Walks as walk_days does, with this model in the place of the projection: fitted on the fifty days of warm-up, and
/// again every twenty days on all before.
void walk_kalman(const BarSeries& series, const WalkOptions& options, const GradeSink& sink);

/// ln volumes by bin of the whole days of a series; days with another number of bins are left out.
[[nodiscard]] LogBins kalman_bins(const BarSeries& series, std::size_t bins);

}  // namespace brimwatch
