#pragma once
// How good forecasts of the day's volume were. Pure.
#include <map>
#include <vector>

#include "volume/grading/walk.h"

namespace brimwatch {

/// Figures at one minute of the day. Errors in percent, the others as fractions.
struct ScorePoint {
  double minute = 0;
  int days = 0;
  double mape = 0, mdape = 0;                  ///< mean and median of |median forecast / total - 1|
  double cover80 = 0, cover90 = 0;             ///< share of days within the interval
  double crps = 0;                             ///< of ln(day's volume)
  double base_rate = 0;                        ///< share of days at or above 1.4 x the 50-day mean
  double brier = 0, brier_skill = 0, auc = 0;  ///< of the odds of that
  double precision_50 = 0, recall_50 = 0, precision_70 = 0, recall_70 = 0;
  double linear_mape = 0, profile_mape = 0;  ///< the simple rules
  double bias = 0, error_sd = 0;             ///< of ln(volume that came after) against its forecast
};

/// CRPS of ln(total) = 2 x mean over .01 .. .99 of the pinball loss of the forecast's quantiles.
[[nodiscard]] double crps_of(const RemainderView& forecast, double total);

/// Odds of ending at or above `wanted`.
[[nodiscard]] double odds_at_least(const RemainderView& forecast, double wanted);

/// Area under the ROC curve: the chance that a day that came true had higher odds than one that did not; ties count half.
[[nodiscard]] double area_under_curve(std::vector<std::pair<double, bool>> odds);

/// What came of saying yes to odds of at least `level`: of those called, the share that came; of those that came, the
/// share that was called.
struct CallScore {
  double precision = 0, recall = 0;
};
[[nodiscard]] CallScore score_calls(const std::vector<std::pair<double, bool>>& odds, double level);

class Scores {
 public:
  void add(const GradedForecast& one);
  [[nodiscard]] std::vector<ScorePoint> points() const;  ///< by minute; minutes without a day are not there

 private:
  struct Tally {
    std::vector<float> errors;
    std::vector<std::pair<double, bool>> odds;
    double inside80 = 0, inside90 = 0, crps = 0, linear = 0, profile = 0, bias = 0, squares = 0;
  };
  [[nodiscard]] static ScorePoint finish(double minute, const Tally& tally);
  std::map<double, Tally> tallies_;
};

}  // namespace brimwatch
