#pragma once
// What is known of a symbol's past days, and the plan for today that follows from it. Pure.
#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "core/daily.h"
#include "core/text/timestamp.h"
#include "session/calendar.h"
#include "volume/projection.h"

namespace brimwatch {

/// What was learned of a symbol from minute data: its curve, how sure, how wide its errors, what part the feed carries.
/// learning.h changes it; learned_file.h keeps it.
struct Learned {
  Curve curve;   ///< blended with the default by (n L + 5 default) / (n + 5); count 0: nothing learned
  int days = 0;  ///< days the curve has seen
  double kappa = 1;
  double feed_ratio = 1,
         feed_ratio_sd = 0;  ///< median of the last 20 days' feed total / official total, and sd of its ln
  int ratio_days = 0;        ///< days with both the feed's and the official total, 20 at the most
  bool ratio_doubt = false;  ///< no day with both totals yet, but the feed's days lie clearly off the official ones
  Date last_day;             ///< the newest day learned; days are learned once, in order

  /// Per knot: weighted mean and variance of ln(cumulative share), sum of weights, days seen.
  std::array<double, kKnots> log_share{}, log_variance{}, weight{};
  std::array<int, kKnots> seen{};
  std::array<double, 20> ratios{};  ///< ln of the newest ratios, a ring by ratio_count % 20
  int ratio_count = 0;
};

/// Plan for `session` from full days before it; `daily` is ascending and in terms of its last bar (splits taken out).
/// `given_normal` (from the watch list) wins over history as normal volume; with no history it also gives the prior. A
/// plan with normal == 0 judges nothing. On a half day the normal volume is that of a half day. The plan keeps `learned`
/// (nullptr: nothing) for its curve.
[[nodiscard]] DayPlan make_plan(const Session& session, const std::vector<DailyBar>& daily,
                                const std::shared_ptr<const Learned>& learned, std::optional<Shares> given_normal,
                                const Calendar& calendar);

/// Level of a half day against a full one, in ln: as usual on that kind of half day, and a little by the symbol's own
/// past ones.
[[nodiscard]] double half_day_level(const Session& session, const std::vector<DailyBar>& daily, const Calendar& calendar);

/// Mean volume of the last 50 full sessions before `day`; 0 when there is none. `used` says how many went in.
[[nodiscard]] double normal_volume(const std::vector<DailyBar>& daily, Date day, const Calendar& calendar,
                                   int* used = nullptr);

}  // namespace brimwatch
