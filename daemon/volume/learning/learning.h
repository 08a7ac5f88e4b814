#pragma once
// How a symbol's curve, the width of its errors and its feed's part of the tape are learned, one finished day at a time.
// Pure. The daemon does it each evening, grading and `learn` do it day by day over files: the same functions.
#include <array>
#include <span>

#include "core/state.h"
#include "volume/history.h"

namespace brimwatch {

/// ln of the cumulative share of the day's volume at the knots; NaN where not known.
using KnotLogs = std::array<double, kKnots>;

constexpr double kLeastCoverage = 0.95;  ///< of a day that may be learned from

/// Takes in a full session's shape: recent days weigh more (half-life 40 days), what lies beyond three deviations is
/// drawn in. Renews the curve.
void learn_shape(Learned& learned, const KnotLogs& shape);

/// One forecast's error in ln(volume to come), and the scale it was made with before kappa.
struct ForecastError {
  double error = 0, spread = 0;
};
/// Moves kappa by the day's errors: 3 % a day towards mean(min(|e| / E|e|, 4)), held to 0.6-2.5.
void learn_width(Learned& learned, std::span<const ForecastError> errors);

/// A day with both totals, in shares.
void learn_ratio(Learned& learned, double feed_total, double official_total);
/// What a ratio needs of a day as the feed carried it.
struct FeedDay {
  Date day;
  double total = 0;  ///< shares
  double coverage = 1;
  bool half_day = false;
};
[[nodiscard]] FeedDay feed_day_of(const DayRecord& record);

/// The ratios anew from the journal's newest days and the official daily bars of the same dates, which come later than
/// the evening; days with too little coverage are left out. Days in any order, of one symbol. While no day has both,
/// the feed's days are held against the official days before them, to doubt a feed that is plainly a part (doubt_ratio).
void learn_ratios(Learned& learned, std::span<const FeedDay> days, const std::vector<DailyBar>& official);
/// Sets ratio_doubt: where no ratio is known, whether the feed's full days lie further from the mean of the twenty
/// official days before each than volumes vary: the median ln beyond 1.2 / sqrt(days), and 0.4 at least.
void doubt_ratio(Learned& learned, std::span<const FeedDay> days, const std::vector<DailyBar>& official);
/// Works feed_ratio and feed_ratio_sd out of `ratios`.
void renew_ratio(Learned& learned);

/// A finished day as the daemon saw it.
struct FinishedDay {
  Date day;
  double total = 0;           ///< as the feed carried it, shares
  double official_total = 0;  ///< from the official daily bar, 0 where it is not known
  double coverage = 1;        ///< share of the expected volume that the feed was up for
  bool half_day = false;
  KnotLogs knots{};
};
/// The evening's work for one symbol: days with too little coverage, half days and days learned before change nothing.
/// `plan` is the day's own, for the errors of its forecasts. Returns whether anything was learned.
bool learn_day(Learned& learned, const FinishedDay& day, const DayPlan& plan);

/// The same from the engine's record of the day; `official_total` 0 where the daily bar is not known (yet).
bool learn_day(Learned& learned, const DayRecord& record, double official_total, const DayPlan& plan);

/// Errors of the day's forecasts at the knots from 15 to 375 minutes, as far as the shape is known.
[[nodiscard]] std::vector<ForecastError> errors_at_knots(const DayPlan& plan, const KnotLogs& shape, double total);

/// The curve from what was learned: known knots blended with the default, the others bent along with them.
[[nodiscard]] Curve blended_curve(const Learned& learned);

}  // namespace brimwatch
