// Grading at fixed minutes of the day.
#include <algorithm>
#include <cmath>

#include "volume/grading/walk.h"

namespace brimwatch {
namespace {

/// The feed was blind for a while: what was traded then is taken out again, and what was expected.
void apply_hole(const BarSeries& series, const WalkedDay& walked, const WalkOptions& options, Moment& moment,
                DayVolume& seen) {
  const Curve& curve = walked.plan.curve != nullptr ? *walked.plan.curve : default_curve();
  moment.missed_from = options.hole_from;
  moment.missed_to = std::min(options.hole_to, moment.minutes);
  moment.missed_share = curve.at(moment.missed_to) - curve.at(moment.missed_from);
  for (const BarVolume& bar : walked.day.bars) {
    const int end = std::min(series.end_of(bar.minute), static_cast<int>(walked.day.session_minutes));
    if (bar.minute >= moment.missed_from && bar.minute < moment.missed_to)
      lay_bar(seen, curve, {bar.minute, -bar.volume, 0}, end);
  }
}

class MinuteGrader {
 public:
  MinuteGrader(const BarSeries& series, const WalkOptions& options, const GradeSink& sink)
      : series_(series), options_(options), sink_(sink), shares_(options.minutes.size()) {}

  void grade(const WalkedDay& walked) {
    catch_up(walked.before);
    for (std::size_t i = 0; i < options_.minutes.size(); ++i) {
      const double minute = options_.minutes[i];
      if (!series_.knows(minute) || minute >= walked.day.session_minutes) continue;
      GradedForecast graded = forecast_at(walked, minute);
      apply_simple_rules(graded, walked.day, mean_of(shares_[i]));
      sink_(walked.day, graded);
    }
  }

 private:
  /// The shares of the days that have come since the last time.
  void catch_up(std::span<const SessionBars* const> before) {
    auto day = std::find(before.begin(), before.end(), newest_);
    day = day == before.end() ? before.begin() : day + 1;
    for (; day != before.end(); newest_ = *day++) {
      for (std::size_t i = 0; i < shares_.size(); ++i) {
        shares_[i].push_back(volume_by(**day, options_.minutes[i]) / (*day)->total);
        if (shares_[i].size() > kWarmUpDays) shares_[i].erase(shares_[i].begin());
      }
    }
  }

  [[nodiscard]] GradedForecast forecast_at(const WalkedDay& walked, double minute) const {
    Moment moment{.minutes = minute};
    DayVolume seen = volume_seen(series_, walked.day, walked.plan, minute);
    if (options_.hole_to > options_.hole_from && minute > options_.hole_from)
      apply_hole(series_, walked, options_, moment, seen);
    const RemainderForecast f = forecast_remainder(walked.plan, seen, moment);
    return {minute, {f.so_far, f.mu, f.spread, false}, walked.day.total, kWantedLevel * walked.plan.normal, 0, 0};
  }

  static double mean_of(const std::vector<double>& values) {
    double sum = 0;
    for (const double value : values) sum += value;
    return values.empty() ? 0 : sum / static_cast<double>(values.size());
  }

  const BarSeries& series_;
  const WalkOptions& options_;
  const GradeSink& sink_;
  std::vector<std::vector<double>> shares_;  ///< of the last 50 days, by minute of grading
  const SessionBars* newest_ = nullptr;      ///< of the days in shares_
};

}  // namespace

void apply_simple_rules(GradedForecast& graded, const SessionBars& day, double usual_share) {
  const double so_far = volume_by(day, graded.minute);
  graded.linear = so_far * day.session_minutes / graded.minute;
  graded.profile = usual_share > 0 ? so_far / usual_share : graded.linear;
}

Learned walk_days(const BarSeries& series, const WalkOptions& options, const GradeSink& sink) {
  MinuteGrader grader(series, options, sink);
  return visit_days(series, options, [&](const WalkedDay& walked) { grader.grade(walked); });
}

}  // namespace brimwatch
