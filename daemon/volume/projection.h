#pragma once
// Projects the whole day's volume from the pace so far. The method: regress the logarithm of the REMAINING volume on the
// surprise so far, with Student-t errors (8 degrees of freedom); what has traded is known exactly. Pure; no allocation.
#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>

#include "core/shares.h"

namespace brimwatch {

constexpr int kQuarterMinutes = 15;
constexpr std::size_t kQuarters = 36;  ///< nine hours: the longest session that is known to the quarter-hour

/// What a symbol has traded today. Minutes are whole minutes of trading since the open (breaks and halts left out).
/// The minute under way is summed up beside the totals and enters its quarter when the next one begins, so that a trade
/// writes to one cache line.
struct alignas(64) DayVolume {
  Shares so_far;
  std::int64_t running = 0;  ///< of `minute`, micros of a share, not in `quarters` yet; see settle()
  std::int32_t minute = -1;  ///< newest minute that is known
  std::array<std::int64_t, kQuarters> quarters{};  ///< by quarter-hour since the open, micros of a share

  /// O(1), no allocation. A minute before the open (negative) adds only to the sum; size may be negative (a cancel).
  void add(std::int32_t at_minute, Shares size) {
    so_far += size;
    if (at_minute < 0) return;
    if (at_minute > minute) settle(), minute = at_minute;
    if (at_minute == minute) running += size.micros;
    else put(at_minute, size.micros);
  }
  /// Brings the minute under way into its quarter.
  void settle() {
    if (minute >= 0) put(minute, running);
    running = 0;
  }
  [[nodiscard]] DayVolume settled() const {
    DayVolume copy = *this;
    copy.settle();
    return copy;
  }

 private:
  void put(std::int32_t at_minute, std::int64_t micros) {
    const auto quarter = static_cast<std::uint32_t>(at_minute) / kQuarterMinutes;
    if (quarter < kQuarters) quarters[quarter] += micros;
  }
};

constexpr int kKnots = 24;

/// Where a curve is known: minutes of a full session of 390. The last is the whole day, closing print included.
constexpr std::array<double, kKnots> kKnotMinutes = {1,   2,   3,   5,   10,  15,  30,  45,  60,  90,  120, 150,
                                                     180, 195, 210, 240, 270, 300, 330, 360, 375, 385, 389, 390};

/// A symbol's usual day, as learned or by default: cumulative share of the day's volume at the knots (minutes of a full
/// session of 390), ascending, auction included: share[last] = 1.
struct Curve {
  int count = 0;
  std::array<double, kKnots> minute{};
  std::array<double, kKnots> share{};
  double auction = 0;  ///< part of the day that comes with the closing print, after the last minute of trading

  /// Linear between knots, 0 before the open, 1 from the last knot on. In the last minute it runs up to 1 - auction only:
  /// the closing print is not in before the close.
  [[nodiscard]] double at(double minutes_of_390) const;
};

/// The usual day of a US stock on a full tape: 0.89 of a curve measured without the closing auction, and 11 % at the
/// close.
[[nodiscard]] const Curve& default_curve();

/// The same for a feed that does not carry the closing auction.
[[nodiscard]] const Curve& default_curve_without_auction();

/// For a plan: a curve that outlives it and stays as it is.
[[nodiscard]] inline std::shared_ptr<const Curve> borrowed(const Curve& curve) {
  return {std::shared_ptr<const Curve>(), &curve};
}

struct RecentHighs;  // old_high.h

/// All that is fixed before the open for one symbol and one day.
struct DayPlan {
  double prior = 0;   ///< m0: expected ln of the day's volume, shares of the feed
  double normal = 0;  ///< trailing 50-session mean, shares of the feed; 0: unknown, nothing can be judged
  double scale = 1;   ///< kappa and thin-history widening: multiplies s
  double session_minutes = 390;
  double gap = -1;            ///< |ln(open / previous close)| in daily standard deviations; < 0: unknown
  double daily_sd = 0;        ///< 20-day standard deviation of daily log returns; 0: unknown
  double previous_close = 0;  ///< the last one that history has; 0: none
  bool close_is_old = false;  ///< it is of an earlier session than the one before: no gap can be told from it
  double feed_ratio = 1;      ///< feed day total / official day total, already in `prior` and `normal`
  double feed_ratio_sd = 0;   ///< how much its logarithm varies from day to day
  double own_lift = 0;        ///< what the user's own crossings add to crossing_lift(); see own_lift.h
  int normal_days = 0;        ///< sessions that `normal` is the mean of; 0: given, or not known
  bool split_listed = false;  ///< a split of this day is known: prices of today and yesterday do not compare
  double thin = 0;            ///< 0: a liquid stock, 1: a thin one; see thinness()
  std::uint8_t weekday = 7;   ///< 0 is Sunday; 7: unknown
  bool half_day = false;
  bool expiry = false;                 ///< quarterly expiry: the closing auction is about three times its norm
  bool month_end = false;              ///< last session of a month: about twice its norm
  bool ratio_unknown = false;          ///< the feed carries a part of the tape and the part is not known yet
  bool ratio_unsteady = false;         ///< ... and the part differs so much from day to day that nothing can be judged
  std::shared_ptr<const Curve> curve;  ///< never changes while a plan has it; nullptr: the default curve
  std::shared_ptr<const RecentHighs> highs;  ///< the daily highs before; nullptr: none are known

  /// Whether a surge can be told at all.
  [[nodiscard]] bool can_judge() const { return normal > 0 && !ratio_unknown && !ratio_unsteady; }
};

/// What the clock and the feed say at the moment of asking.
struct Moment {
  double minutes = 0;  ///< of trading since the open, halts left out
  double missed_from = 0,
         missed_to = 0;         ///< hole of the feed in those minutes; equal: none (several are merged to one length)
  double missed_share = 0;      ///< expected share of the day that fell into holes; C_obs = C - missed_share
  double since_crossing = -1;   ///< minutes since the day's first trade at the pivot (since the open where it opened
                                ///< there); < 0: it has not been reached today
  double lift = 0;              ///< volume that comes with the crossing, as a share of the day: crossing_lift()
  bool recent_known = true;     ///< false: only the sum is known (a figure by hand, hour bars), not the last minutes
  bool auction_due = false;     ///< past the close, but the closing print has not come yet: the day is not final
  bool opening_missed = false;  ///< the opening print should have come and has not: it was not heard
  double halted = 0;            ///< minutes since the open that halts took; `minutes` is without them, the close is not
};

struct Projection {
  double median = 0, low = 0, high = 0;  ///< day's total and its 80 % interval, shares
  double odds = 0;                       ///< probability of the day ending at or above `wanted`
};

/// `wanted`: the day volume whose odds are asked, shares (normal x 1.40). Always: low <= median <= high, odds in [0, 1];
/// and so far <= low, unless the feed's part of the tape is in doubt (day_total.h). From the session's end on the day is
/// final, unless `auction_due`. A plan without a prior (0) goes by the curve alone and its odds are 0; so are the odds
/// where `wanted` is not above 0. Before the first whole minute no odds are above 0.97 but those of what has traded.
[[nodiscard]] Projection project(const DayPlan& plan, const DayVolume& day, const Moment& moment, double wanted);

/// The odds of project() alone, for whoever asks every few seconds.
[[nodiscard]] double project_odds(const DayPlan& plan, const DayVolume& day, const Moment& moment, double wanted);

/// Quantile p of the day's total, shares.
[[nodiscard]] double project_quantile(const DayPlan& plan, const DayVolume& day, const Moment& moment, double p);

/// The opening gap in daily standard deviations, for DayPlan::gap; -1 where a price or the deviation is not known, or the
/// prices stand to each other as in a common split.
[[nodiscard]] double opening_gap(double open, double previous_close, double daily_sd);

/// The opening print's part of the day, as far as it was expected by now: what a missed one takes out.
[[nodiscard]] double opening_print_share(double expected_so_far);

/// The day's total and the odds before reduction to one interval: what grading and audits look at.
struct RemainderForecast {
  double so_far = 0;  ///< shares
  double mu = 0;      ///< median of ln(volume to come)
  double spread = 0;  ///< Student-t scale of it; 0: the day is final
  bool final = false;
};
[[nodiscard]] RemainderForecast forecast_remainder(const DayPlan& plan, const DayVolume& day, const Moment& moment);

}  // namespace brimwatch
