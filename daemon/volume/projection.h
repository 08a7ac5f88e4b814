#pragma once
// Projects the whole day's volume from the pace so far. The method: regress the logarithm of the REMAINING volume on the
// surprise so far, with Student-t errors (8 degrees of freedom); what has traded is known exactly. Pure; no allocation.
#include <array>
#include <cstdint>

#include "core/shares.h"

namespace brimwatch {

constexpr int kRecentMinutes = 15;

/// What a symbol has traded today. Minutes are whole minutes of trading since the open (breaks and halts left out).
struct DayVolume {
  Shares so_far;
  std::array<std::int64_t, 16> recent{};  ///< ring by minute % 16, micros of a share
  std::int32_t minute = -1;               ///< newest minute in the ring

  /// O(1), no allocation. An older minute than the ring holds only adds to the sum; size may be negative (a cancel).
  void add(std::int32_t at_minute, Shares size);
  /// Volume of the last h <= 15 minutes before `minutes`, shares; the minute under way counts as far as it has come.
  [[nodiscard]] double last(double minutes, double h) const;
};

constexpr int kKnots = 24;

/// A symbol's usual day, as learned or by default: cumulative share of the day's volume at the knots (minutes of a full
/// session of 390), ascending, auction included: share[last] = 1.
struct Curve {
  int count = 0;
  std::array<double, kKnots> minute{};
  std::array<double, kKnots> share{};

  [[nodiscard]] double at(double minutes_of_390) const;  ///< linear between knots, 0 before the open, 1 after the last
};

/// All that is fixed before the open for one symbol and one day.
struct DayPlan {
  double prior = 0;            ///< m0: expected ln of the day's volume, shares
  double normal = 0;           ///< trailing 50-session mean, shares of the feed; 0: unknown, nothing can be judged
  double scale = 1;            ///< kappa and thin-history widening: multiplies s
  double session_minutes = 390;
  double gap = -1;             ///< |ln(open / previous close)| in daily standard deviations; < 0: unknown
  double daily_sd = 0;         ///< 20-day standard deviation of daily log returns; 0: unknown
  double feed_ratio = 1, feed_ratio_sd = 0;
  bool half_day = false, expiry = false;
  bool ratio_unknown = false;  ///< the feed carries a part of the tape and the part is not known yet
  const Curve* curve = nullptr;  ///< outlives the plan
};

/// What the clock and the feed say at the moment of asking.
struct Moment {
  double minutes = 0;          ///< of trading since the open, halts left out
  double missed_from = 0, missed_to = 0;  ///< hole of the feed in those minutes; equal: none (several are merged to one length)
  double missed_share = 0;     ///< expected share of the day that fell into holes; C_obs = C - missed_share
  bool at_crossing = false;    ///< shifts the odds by what crossings of a pivot have shown
};

struct Projection {
  double median = 0, low = 0, high = 0;  ///< day's total and its 80 % interval, shares
  double odds = 0;                       ///< probability of the day ending at or above `wanted`
};

/// `wanted`: the day volume whose odds are asked, shares (normal x 1.40). Always: median >= so far; odds in [0, 1].
[[nodiscard]] Projection project(const DayPlan& plan, const DayVolume& day, const Moment& moment, double wanted);

/// Quantile p of the day's total, shares.
[[nodiscard]] double project_quantile(const DayPlan& plan, const DayVolume& day, const Moment& moment, double p);

}  // namespace brimwatch
