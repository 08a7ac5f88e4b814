#pragma once
// One symbol's days from first to last: before each a plan from what came before it, within it whatever a visitor asks,
// after it learning. Nothing from the future goes in. Pure.
#include <functional>
#include <span>
#include <vector>

#include "volume/history.h"
#include "volume/learning/bars.h"
#include "volume/learning/learning.h"

namespace brimwatch {

constexpr std::size_t kWarmUpDays = 50;  ///< full sessions before the first one that is graded
constexpr double kWantedLevel = 1.4;     ///< of the mean of the 50 days before: the day whose odds are graded

/// The volume to come, as a median and scale in ln; errors as in students_t.h, or normal.
struct RemainderView {
  double so_far = 0, mu = 0, spread = 0;
  bool normal_tails = false;
};

/// A forecast and what came, at one minute of one day.
struct GradedForecast {
  double minute = 0;
  RemainderView forecast;
  double total = 0;                ///< what came
  double wanted = 0;               ///< 1.4 x the mean of the 50 days before
  double linear = 0, profile = 0;  ///< the two simple rules' totals
};

struct WalkOptions {
  std::vector<double> minutes;  ///< of grading
  bool cold = false;            ///< the default curve (of a feed with or without the closing auction) and width
  bool use_gap = true;
  bool use_weekday = true, use_thinness = true, use_lift = true;  ///< parts of the model, left out to see what each does
  double hole_from = 0, hole_to = 0;  ///< minutes that the feed is blind, for trials; equal: none
};

/// A full session from day 51 on, as it stood before its open.
struct WalkedDay {
  const SessionBars& day;
  const DayPlan& plan;
  std::span<const SessionBars* const> before;  ///< the last 50 full sessions, oldest first
  std::span<const double> highs;  ///< of the sessions before, in today's prices, oldest first; 250 at the most
};
using DayVisitor = std::function<void(const WalkedDay&)>;

/// Walks all days. Returns what has been learned at the end.
Learned visit_days(const BarSeries& series, const WalkOptions& options, const DayVisitor& visit);

using GradeSink = std::function<void(const SessionBars&, const GradedForecast&)>;

/// The same; `sink` gets the forecasts at options.minutes.
Learned walk_days(const BarSeries& series, const WalkOptions& options, const GradeSink& sink);

/// Adds a bar's volume to the quarter-hours that it reaches into, to each by the curve (by its minutes where the curve
/// has nothing there). `end`: minute of the session.
void lay_bar(DayVolume& seen, const Curve& curve, const BarVolume& bar, int end);

/// The day as the daemon would have it at that minute.
[[nodiscard]] DayVolume volume_seen(const BarSeries& series, const SessionBars& day, const DayPlan& plan, double minute);

/// What the two simple rules say of the day's total: the pace so far held to the close, and the mean share of the last 50
/// days by this minute (0: not known).
void apply_simple_rules(GradedForecast& graded, const SessionBars& day, double usual_share);

/// ln of the cumulative share at the knots that the bars know.
[[nodiscard]] KnotLogs knot_logs(const BarSeries& series, const SessionBars& day);

/// Shares traded by `minute` (a bar's end).
[[nodiscard]] double volume_by(const SessionBars& day, double minute);

/// A day that may be learned from and graded.
[[nodiscard]] bool is_whole(const SessionBars& day);

}  // namespace brimwatch
