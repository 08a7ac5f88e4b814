#include "volume/grading/walk.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "volume/circumstances.h"
#include "volume/learning/prior.h"

namespace brimwatch {
namespace {

static_assert(kTellingDays <= kWarmUpDays, "a graded day would be read in the light of later ones");

double mean_of(std::span<const double> values) {
  double sum = 0;
  for (const double value : values) sum += value;
  return values.empty() ? 0 : sum / static_cast<double>(values.size());
}

template <typename T>
void keep_last(std::vector<T>& values, std::size_t most) {
  if (values.size() > most) values.erase(values.begin(), values.end() - static_cast<std::ptrdiff_t>(most));
}

class Walk {
 public:
  Walk(const BarSeries& series, const WalkOptions& options, const DayVisitor& visit)
      : series_(series), options_(options), visit_(visit) {}

  Learned run() {
    for (const SessionBars& day : series_.days) {
      const double ratio = closes_.empty() ? 1 : split_ratio(day.open, closes_.back());
      if (ratio != 1) rescale(ratio);
      if (is_whole(day)) take(day);
      if (ratio != 1 && was_no_split(day, ratio)) rescale(1 / ratio);
      if (day.close > 0) closes_.push_back(day.close);
      keep_last(closes_, 21);
      if (day.high > 0) highs_.push_back(day.high);
      keep_last(highs_, kMostHighs);
    }
    return learned_;
  }

 private:
  void take(const SessionBars& day) {
    const DayPlan plan = plan_for(day);
    if (totals_.size() >= kWarmUpDays) visit_({day, plan, before_, highs_});
    learn(day, plan);
  }

  /// A split: the days before it in today's shares and prices.
  void rescale(double ratio) {
    for (double& one : logs_) one += std::log(ratio);
    for (double& one : totals_) one *= ratio;
    for (double& one : closes_) one /= ratio;
    for (double& one : highs_) one /= ratio;
  }

  /// A price that halves overnight in the open market is traded as never before; after a split the day is as any other.
  [[nodiscard]] bool was_no_split(const SessionBars& day, double ratio) {
    constexpr double kHeavy = 3;
    if (!is_whole(day) || totals_.size() < 2) return false;
    const double before = mean_of({totals_.data(), totals_.size() - 1});
    if (day.total < kHeavy * before) return false;
    totals_.back() *= ratio;  // this day's own volume was in its own shares: the rescaling back leaves it alone
    logs_.back() += std::log(ratio);
    return true;
  }

  DayPlan plan_for(const SessionBars& day) const {
    DayPlan plan;
    const Prior prior = prior_from_days(logs_);
    plan.prior = prior.mean;
    plan.scale = prior.scale;
    plan.normal = mean_of(totals_);
    plan.session_minutes = day.session_minutes;
    plan.expiry = day.expiry;
    plan.month_end = day.month_end;
    if (options_.use_weekday && day.dated())
      plan.weekday = static_cast<std::uint8_t>(Date{day.day}.weekday().c_encoding());
    if (options_.use_thinness) plan.thin = thinness(plan.normal, closes_.empty() ? 0 : closes_.back());
    plan.daily_sd = daily_deviation(closes_);
    if (options_.use_gap && !closes_.empty()) plan.gap = opening_gap(day.open, closes_.back(), plan.daily_sd);
    if (options_.cold) {
      constexpr int kFewDays = 5;
      constexpr double kNoAuction = 0.05;
      const bool without = learned_.days >= kFewDays && learned_.curve.auction < kNoAuction;
      if (without) plan.curve = borrowed(default_curve_without_auction());
      return plan;
    }
    plan.scale *= learned_.kappa;
    if (learned_.curve.count > 0) plan.curve = borrowed(learned_.curve);
    return plan;
  }

  void learn(const SessionBars& day, const DayPlan& plan) {
    const KnotLogs shape = knot_logs(series_, day);
    if (learned_.days == 0) learned_.kappa = first_kappa(day.total);
    learn_width(learned_, errors_at_knots(plan, shape, day.total));
    learn_shape(learned_, shape);
    if (day.dated()) learned_.last_day = Date{day.day};
    logs_.push_back(std::log(day.total));
    totals_.push_back(day.total);
    before_.push_back(&day);
    keep_last(logs_, kWarmUpDays);
    keep_last(totals_, kWarmUpDays);
    keep_last(before_, kWarmUpDays);
  }

  static constexpr std::size_t kMostHighs = 250;
  const BarSeries& series_;
  const WalkOptions& options_;
  const DayVisitor& visit_;
  Learned learned_;
  std::vector<double> logs_, totals_, closes_, highs_;
  std::vector<const SessionBars*> before_;
};

}  // namespace

bool is_whole(const SessionBars& day) { return !day.half_day && day.total > 0 && day.coverage >= kLeastCoverage; }

double volume_by(const SessionBars& day, double minute) {
  double sum = 0;
  for (const BarVolume& bar : day.bars) {
    if (bar.minute >= minute) break;
    sum += bar.volume;
  }
  return sum;
}

KnotLogs knot_logs(const BarSeries& series, const SessionBars& day) {
  KnotLogs logs;
  logs.fill(std::numeric_limits<double>::quiet_NaN());
  const double stretch = day.session_minutes / 390;
  double sum = 0;
  std::size_t bar = 0;
  for (std::size_t i = 0; i < kKnots; ++i) {
    const double minute = kKnotMinutes[i] * stretch;
    for (; bar < day.bars.size() && day.bars[bar].minute < minute; ++bar) sum += day.bars[bar].volume;
    if (series.knows(minute) && sum > 0) logs[i] = std::min(0.0, std::log(sum / day.total));
  }
  logs[kKnots - 1] = 0;
  return logs;
}

void lay_bar(DayVolume& seen, const Curve& curve, const BarVolume& bar, int end) {
  const double whole = curve.at(end) - curve.at(bar.minute);
  const auto share_by = [&](int minute) {
    if (minute == end) return 1.0;
    return whole > 0 ? (curve.at(minute) - curve.at(bar.minute)) / whole
                     : static_cast<double>(minute - bar.minute) / (end - bar.minute);
  };
  std::int64_t before = 0;
  for (int from = bar.minute; from < end;) {
    const int to = std::min((from / kQuarterMinutes + 1) * kQuarterMinutes, end);
    const std::int64_t done = std::llround(bar.volume * share_by(to) * 1e6);
    seen.add(to - 1, Shares{done - before});
    before = done;
    from = to;
  }
}

DayVolume volume_seen(const BarSeries& series, const SessionBars& day, const DayPlan& plan, double minute) {
  const Curve& curve = plan.curve != nullptr ? *plan.curve : default_curve();
  DayVolume seen;
  for (const BarVolume& bar : day.bars) {
    if (bar.minute >= minute) break;
    lay_bar(seen, curve, bar, std::min(series.end_of(bar.minute), static_cast<int>(day.session_minutes)));
  }
  return seen;
}

Learned visit_days(const BarSeries& series, const WalkOptions& options, const DayVisitor& visit) {
  return Walk(series, options, visit).run();
}

}  // namespace brimwatch
