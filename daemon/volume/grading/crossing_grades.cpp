#include "volume/grading/crossing_grades.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace brimwatch {
namespace {

Price price_of(double value) { return Price{std::llround(value * 1e6)}; }

RecentHighs newest_highs(std::span<const double> highs) {
  RecentHighs out;
  for (auto high = highs.rbegin(); high != highs.rend() && out.count < static_cast<int>(out.high.size()); ++high)
    out.high[static_cast<std::size_t>(out.count++)] = price_of(*high);
  return out;
}

/// Nobody knows when in its bar the price got there: half a bar ago, or at the open where it opened there; a quarter of
/// an hour at the most.
double minutes_since(const SessionBars& day, const BarVolume& bar, double end, double pivot) {
  constexpr double kMost = 15;
  const bool opened_there = day.open >= pivot;
  return std::min(opened_there ? end : (end - bar.minute) / 2, kMost);
}

double usual_share(std::span<const SessionBars* const> before, double minute) {
  double sum = 0;
  for (const SessionBars* day : before) sum += volume_by(*day, minute) / day->total;
  return before.empty() ? 0 : sum / static_cast<double>(before.size());
}

class CrossingGrader {
 public:
  CrossingGrader(const BarSeries& series, const WalkOptions& options, int sessions, const CrossingSink& sink)
      : series_(series), use_lift_(options.use_lift), sessions_(static_cast<std::size_t>(sessions)), sink_(sink) {}

  void look(const WalkedDay& walked) const {
    if (walked.highs.size() < sessions_) return;
    const auto recent = walked.highs.last(sessions_);
    const double pivot = *std::max_element(recent.begin(), recent.end());
    for (const BarVolume& bar : walked.day.bars) {
      if (!(bar.high >= pivot)) continue;
      const double end = series_.end_of(bar.minute);
      if (end < walked.day.session_minutes) sink_(walked, graded(walked, bar, end, pivot));
      return;
    }
  }

 private:
  [[nodiscard]] GradedCrossing graded(const WalkedDay& walked, const BarVolume& bar, double end, double pivot) const {
    const RecentHighs highs = newest_highs(walked.highs);
    GradedCrossing out;
    out.age = age_of_high(&highs, 0, price_of(pivot));
    Moment moment{.minutes = end, .since_crossing = minutes_since(walked.day, bar, end, pivot)};
    if (use_lift_) moment.lift = crossing_lift(out.age);
    const DayVolume seen = volume_seen(series_, walked.day, walked.plan, end);
    const RemainderForecast f = forecast_remainder(walked.plan, seen, moment);
    const double wanted = kWantedLevel * walked.plan.normal;
    out.graded = {end, {f.so_far, f.mu, f.spread, false}, walked.day.total, wanted, 0, 0};
    apply_simple_rules(out.graded, walked.day, usual_share(walked.before, end));
    out.day = Date{walked.day.day};
    out.odds = project_odds(walked.plan, seen, moment, wanted);
    out.gap = walked.plan.gap;
    out.normal = walked.plan.normal;
    return out;
  }

  const BarSeries& series_;
  bool use_lift_;
  std::size_t sessions_;
  const CrossingSink& sink_;
};

}  // namespace

void walk_crossings(const BarSeries& series, const WalkOptions& options, int sessions, const CrossingSink& sink) {
  const CrossingGrader grader(series, options, sessions, sink);
  visit_days(series, options, [&](const WalkedDay& walked) { grader.look(walked); });
}

}  // namespace brimwatch
