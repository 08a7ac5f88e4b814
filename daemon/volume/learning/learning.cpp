#include "volume/learning/learning.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "volume/circumstances.h"

namespace brimwatch {
namespace {

constexpr double kHalfLifeDays = 40;
constexpr double kDefaultDays = 5;  // how many days the default curve counts for
constexpr double kClipDeviations = 3;

struct UsualDeviation {
  double minute, deviation;
};
// Sd of ln(cumulative share) from day to day, as measured after 15-minute bins; before 15 minutes drawn on by judgement.
constexpr std::array<UsualDeviation, 10> kDeviations = {
    {{1, .60}, {15, .42}, {30, .33}, {60, .26}, {90, .23}, {120, .20}, {195, .15}, {300, .09}, {375, .04}, {390, .02}}};

double usual_deviation(double minute) {
  std::size_t i = 1;
  while (i + 1 < kDeviations.size() && minute > kDeviations[i].minute) ++i;
  const UsualDeviation &from = kDeviations[i - 1], &to = kDeviations[i];
  return from.deviation + (minute - from.minute) / (to.minute - from.minute) * (to.deviation - from.deviation);
}

double default_log(std::size_t knot) { return std::log(default_curve().share[knot]); }

double blend(double learned, double days, double by_default) {
  return (days * learned + kDefaultDays * by_default) / (days + kDefaultDays);
}

double deviation_at(const Learned& learned, std::size_t knot) {
  const double usual = usual_deviation(kKnotMinutes[knot]);
  return std::sqrt(blend(learned.log_variance[knot], learned.seen[knot], usual * usual));
}

/// How far the learned curve lies from the default at a knot, in ln.
double bend_at(const Learned& learned, std::size_t knot) {
  return blend(learned.log_share[knot] - default_log(knot), learned.seen[knot], 0);
}

void take_in(Learned& learned, std::size_t knot, double value) {
  static const double decay = std::exp2(-1 / kHalfLifeDays);
  const double expected = default_log(knot) + bend_at(learned, knot);
  const double reach = kClipDeviations * deviation_at(learned, knot);
  value = std::clamp(value, expected - reach, expected + reach);
  learned.weight[knot] = learned.weight[knot] * decay + 1;
  const double part = 1 / learned.weight[knot];
  const double off = value - learned.log_share[knot];
  learned.log_share[knot] += part * off;
  learned.log_variance[knot] += part * (off * (value - learned.log_share[knot]) - learned.log_variance[knot]);
  ++learned.seen[knot];
}

/// What is left of continuous trading after a knot, of all of it, by default.
double continuous_left(std::size_t knot) { return 1 - default_curve().share[knot] / (1 - default_curve().auction); }

/// After the last known knot: what its remainder holds beyond continuous trading of the usual shape is the closing
/// auction. Feeds without it have none, and stocks differ much.
void fill_tail(Curve& curve, std::size_t last) {
  constexpr double kMostAuction = 0.4;
  const double left = 1 - curve.share[last], usual = continuous_left(last);
  curve.auction = std::min(left, std::clamp((left - usual) / (1 - usual), 0.0, kMostAuction));
  for (std::size_t i = last + 1; i + 1 < kKnots; ++i) {
    curve.share[i] = 1 - curve.auction - (left - curve.auction) * continuous_left(i) / usual;
  }
  curve.share[kKnots - 1] = 1;
}

/// The day's share by a minute: the known knots exactly, the curve's form between them.
double share_by(const Curve& curve, const KnotLogs& shape, double minute) {
  double before_minute = 0, before_off = 0;
  bool any = false;
  for (std::size_t i = 0; i < kKnots; ++i) {
    if (!std::isfinite(shape[i])) continue;
    const double off = shape[i] - std::log(curve.at(kKnotMinutes[i]));
    if (!any) before_off = off;
    if (minute <= kKnotMinutes[i]) {
      const double part = (minute - before_minute) / (kKnotMinutes[i] - before_minute);
      return curve.at(minute) * std::exp(before_off + part * (off - before_off));
    }
    any = true, before_minute = kKnotMinutes[i], before_off = off;
  }
  return curve.at(minute);
}

/// The day as it stood at a minute, its quarter-hours drawn from the knots.
DayVolume day_so_far(const DayPlan& plan, const KnotLogs& shape, double total, double minutes) {
  const Curve& curve = plan.curve != nullptr ? *plan.curve : default_curve();
  const double stretch = 390 / plan.session_minutes;
  DayVolume day;
  for (double from = 0; from < minutes; from += kQuarterMinutes) {
    const double to = std::min(from + kQuarterMinutes, minutes);
    const auto by_then = std::llround(1e6 * total * share_by(curve, shape, to * stretch));
    day.add(static_cast<std::int32_t>(to) - 1, Shares{by_then - day.so_far.micros});
  }
  return day;
}

double median_of(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  const std::size_t half = values.size() / 2;
  return values.size() % 2 == 1 ? values[half] : (values[half - 1] + values[half]) / 2;
}

}  // namespace

Curve blended_curve(const Learned& learned) {
  Curve curve = default_curve();
  std::size_t last = kKnots - 1;  // the last known knot
  while (last > 0 && (last == kKnots - 1 || learned.seen[last] == 0)) --last;
  if (learned.seen[last] == 0) return curve;
  double before_minute = 0, before_bend = 0, highest = 0;
  bool any = false;
  for (std::size_t i = 0, next = 0; i <= last; ++i) {
    next = std::max(next, i);
    while (learned.seen[next] == 0) ++next;
    const double bend = bend_at(learned, next);
    if (!any) before_bend = bend;  // before the first known knot the whole curve moves with it
    const double part = (kKnotMinutes[i] - before_minute) / (kKnotMinutes[next] - before_minute);
    const double here = before_bend + part * (bend - before_bend);
    if (next == i) any = true, before_minute = kKnotMinutes[i], before_bend = bend;
    highest = std::clamp(default_curve().share[i] * std::exp(here), highest, 1.0);
    curve.share[i] = highest;
  }
  fill_tail(curve, last);
  return curve;
}

void learn_shape(Learned& learned, const KnotLogs& shape) {
  bool any = false;
  for (std::size_t i = 0; i + 1 < kKnots; ++i) {
    if (!std::isfinite(shape[i]) || shape[i] > 0) continue;
    take_in(learned, i, shape[i]);
    any = true;
  }
  if (!any) return;
  ++learned.days;
  learned.curve = blended_curve(learned);
}

void learn_width(Learned& learned, std::span<const ForecastError> errors) {
  constexpr double kMeanAbsolute = 0.88388;  // E|T| of Student's t with 8 degrees of freedom: 25 sqrt(2) / 40
  constexpr double kRate = 0.03, kMost = 4, kNarrowest = 0.6, kWidest = 2.5;
  if (errors.empty()) return;
  double sum = 0;
  for (const ForecastError& one : errors) sum += std::min(std::fabs(one.error) / (kMeanAbsolute * one.spread), kMost);
  const double mean = sum / static_cast<double>(errors.size());
  learned.kappa = std::clamp(learned.kappa + kRate * (mean - learned.kappa), kNarrowest, kWidest);
}

void learn_ratio(Learned& learned, double feed_total, double official_total) {
  if (!(feed_total > 0) || !(official_total > 0)) return;
  const auto most = static_cast<int>(learned.ratios.size());
  learned.ratios[static_cast<std::size_t>(learned.ratio_count++ % most)] = std::log(feed_total / official_total);
  learned.ratio_days = std::min(learned.ratio_count, most);
  learned.ratio_doubt = false;
  renew_ratio(learned);
}

FeedDay feed_day_of(const DayRecord& record) {
  return {record.day, record.volume.as_double(), record.coverage, record.half_day};
}

void learn_ratios(Learned& learned, std::span<const FeedDay> days, const std::vector<DailyBar>& official) {
  learned.ratio_count = learned.ratio_days = 0;
  learned.feed_ratio = 1;
  learned.feed_ratio_sd = 0;
  for (const DailyBar& bar : official) {  // ascending
    const auto same = std::find_if(days.begin(), days.end(), [&](const FeedDay& one) { return one.day == bar.day; });
    if (same != days.end() && same->coverage >= kLeastCoverage) learn_ratio(learned, same->total, bar.volume);
  }
  doubt_ratio(learned, days, official);
}

void doubt_ratio(Learned& learned, std::span<const FeedDay> days, const std::vector<DailyBar>& official) {
  constexpr std::ptrdiff_t kDays = 20;
  constexpr double kOneDay = 1.2, kLeast = 0.4;
  learned.ratio_doubt = false;
  if (learned.ratio_days > 0) return;
  std::vector<double> away;
  for (const FeedDay& one : days) {
    if (one.half_day || one.coverage < kLeastCoverage || !(one.total > 0)) continue;
    const auto end = std::lower_bound(official.begin(), official.end(), one.day,
                                      [](const DailyBar& bar, Date day) { return bar.day < day; });
    double sum = 0, count = 0;
    for (auto bar = end - std::min(kDays, end - official.begin()); bar != end; ++bar) {
      if (bar->volume > 0) sum += bar->volume, ++count;
    }
    if (count > 0) away.push_back(std::log(one.total * count / sum));
  }
  if (away.empty()) return;
  const double bound = std::max(kLeast, kOneDay / std::sqrt(static_cast<double>(away.size())));
  learned.ratio_doubt = std::fabs(median_of(std::move(away))) > bound;
}

void renew_ratio(Learned& learned) {
  if (learned.ratio_days <= 0) return;
  const std::vector<double> logs(learned.ratios.begin(), learned.ratios.begin() + learned.ratio_days);
  const double middle = median_of(logs);
  std::vector<double> away;
  for (const double one : logs) away.push_back(std::fabs(one - middle));
  learned.feed_ratio = std::exp(middle);
  learned.feed_ratio_sd = 1.4826 * median_of(away);  // the median deviation of a normal distribution, scaled to its sd
}

std::vector<ForecastError> errors_at_knots(const DayPlan& plan, const KnotLogs& shape, double total) {
  std::vector<ForecastError> errors;
  if (!(total > 0) || plan.prior == 0) return errors;
  for (std::size_t i = 0; i < kKnots; ++i) {
    const double minute = kKnotMinutes[i];
    if (minute < 15 || minute > 375 || !std::isfinite(shape[i]) || shape[i] >= 0) continue;
    const double minutes = minute * plan.session_minutes / 390;
    const DayVolume day = day_so_far(plan, shape, total, minutes);
    const RemainderForecast forecast = forecast_remainder(plan, day, {.minutes = minutes});
    const double to_come = total - day.so_far.as_double();
    if (!forecast.final && to_come > 0) errors.push_back({std::log(to_come) - forecast.mu, forecast.spread / plan.scale});
  }
  return errors;
}

bool learn_day(Learned& learned, const FinishedDay& day, const DayPlan& plan) {
  if (day.day <= learned.last_day || day.coverage < kLeastCoverage || !(day.total > 0)) return false;
  learned.last_day = day.day;
  learn_ratio(learned, day.total, day.official_total);
  if (day.half_day) return true;
  if (learned.days == 0) learned.kappa = first_kappa(plan.normal > 0 ? plan.normal / plan.feed_ratio : day.total);
  const auto errors = errors_at_knots(plan, day.knots, day.total);
  learn_width(learned, errors);
  learn_shape(learned, day.knots);
  return true;
}

bool learn_day(Learned& learned, const DayRecord& record, double official_total, const DayPlan& plan) {
  const FinishedDay day{record.day,      record.volume.as_double(), official_total,
                        record.coverage, record.half_day,           record.knots};
  return learn_day(learned, day, plan);
}

}  // namespace brimwatch
