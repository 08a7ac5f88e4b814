#include "weekend/facts.h"

#include <algorithm>
#include <cmath>

#include "weekend/weekly.h"

namespace brimwatch {
namespace {

constexpr int kQuietRun = 5;
constexpr int kQuietWithin = 25;
constexpr int kDeviation = 60;
constexpr double kPrintAtAll = 0.003;  // a high so little over the rest is no matter, however calm the stock

double percent(double a, double b) { return b > 0 ? 100 * (a / b - 1) : 0; }

void add_points(Bars bars, const Base& base, Facts& facts) {
  const auto high = [&](const char* name, int i) { return Point{name, bar_at(bars, i).day, bar_at(bars, i).high}; };
  const auto low = [&](const char* name, int i) { return Point{name, bar_at(bars, i).day, bar_at(bars, i).low}; };
  switch (base.kind) {
    case BaseKind::cup_with_handle:
      facts.points = {high("rim", base.start), low("bottom", base.low), high("handle high", base.peak),
                      low("handle low", base.second)};
      return;
    case BaseKind::cup:
      facts.points = {high("rim", base.start), low("bottom", base.low)};
      return;
    case BaseKind::no_base:
      facts.points = {high("high", base.peak), low("low", base.low)};
      return;
    case BaseKind::double_bottom:
      facts.points = {high("rim", base.start), low("first low", base.low), high("middle peak", base.peak),
                      low("second low", base.second)};
      return;
    case BaseKind::flat_base:
      facts.points = {high("start", base.start), high("high", base.peak), low("low", base.low)};
      std::sort(facts.points.begin(), facts.points.end(), [](const Point& a, const Point& b) { return a.day < b.day; });
      return;
  }
}

void measure_rise(Bars bars, const Base& base, const RuleBook& book, Facts& facts) {
  int from = std::max(0, base.start - book.rise_within);
  for (int i = from; i < base.start; ++i) from = bar_at(bars, i).low < bar_at(bars, from).low ? i : from;
  facts.rise_from = bar_at(bars, from).day;
  facts.prior_rise = percent(bar_at(bars, base.start).high.as_double(), bar_at(bars, from).low.as_double());
}

void measure_depth(Bars bars, const Base& base, Facts& facts) {
  const bool from_peak = base.kind == BaseKind::flat_base || base.kind == BaseKind::no_base;
  const double top = bar_at(bars, from_peak ? base.peak : base.start).high.as_double();
  double bottom = bar_at(bars, base.low).low.as_double();
  if (base.kind == BaseKind::double_bottom) bottom = std::min(bottom, bar_at(bars, base.second).low.as_double());
  facts.depth = 100 * (1 - bottom / top);
  const double third = bottom + (top - bottom) / 3;
  const int end = base.kind == BaseKind::cup ? base.last : base.peak;
  for (int i = base.start; i <= end; ++i) facts.bottom_sessions += bar_at(bars, i).close.as_double() <= third;
}

double mean_close_of(Bars bars, int from, int to) {
  double sum = 0;
  for (int i = from; i <= to; ++i) sum += bar_at(bars, i).close.as_double();
  return sum / (to - from + 1);
}

void measure_handle(Bars bars, const Base& base, Facts& facts) {
  const double rim = bar_at(bars, base.start).high.as_double(), bottom = bar_at(bars, base.low).low.as_double();
  const double handle_high = bar_at(bars, base.peak).high.as_double(),
               handle_low = bar_at(bars, base.second).low.as_double();
  facts.handle_length = base.last - base.peak + 1;
  facts.handle_depth = 100 * (1 - handle_low / handle_high);
  facts.handle_place = 100 * ((handle_high + handle_low) / 2 - bottom) / (rim - bottom);
  const double before = mean_volume(bars, base.peak - 1, kNormalSessions);
  if (before > 0) facts.handle_volume = 100 * mean_volume(bars, base.last, facts.handle_length) / before;
  const int half = std::max(1, facts.handle_length / 2);
  facts.handle_drift =
      percent(mean_close_of(bars, base.last - half + 1, base.last), mean_close_of(bars, base.peak, base.peak + half - 1));
}

void measure_volume(Bars bars, const Base& base, std::span<const Date> half_days, Facts& facts) {
  facts.normal_volume = full_day_volume(bars, base.last, half_days);
  facts.rising_volume = rising_volume(bars, base.last, kNormalSessions);
  const int within = base.kind == BaseKind::cup_with_handle ? std::max(kQuietRun, facts.handle_length) : kQuietWithin;
  double quietest = facts.normal_volume;
  for (int end = base.last; end - kQuietRun + 1 >= std::max(0, base.last - within + 1); --end) {
    quietest = std::min(quietest, mean_volume(bars, end, kQuietRun));
  }
  if (facts.normal_volume > 0) facts.quiet = 100 * quietest / facts.normal_volume;
}

void measure_double_bottom(Bars bars, const Base& base, Facts& facts) {
  const double rim = bar_at(bars, base.start).high.as_double(), middle = bar_at(bars, base.peak).high.as_double();
  const double first = bar_at(bars, base.low).low.as_double(), second = bar_at(bars, base.second).low.as_double();
  facts.undercut = -percent(second, first);
  facts.second_leg = 100 * std::log(middle / second) / std::log(rim / first);
}

void measure_place(Bars bars, const Base& base, Facts& facts) {
  const double bottom = bar_at(bars, base.low).low.as_double(), top = bar_at(bars, base.peak).high.as_double();
  facts.place = top > bottom ? 100 * (facts.last_close.as_double() - bottom) / (top - bottom) : 0;
}

/// Standard deviation of the moves (logs) of the sixty sessions before bar `at`; 0 with fewer than ten.
double deviation_before(Bars bars, int at) {
  const int from = std::max(1, at - kDeviation);
  if (at - from < 10) return 0;
  double sum = 0, squares = 0;
  for (int i = from; i < at; ++i) {
    const double move = std::log(bar_at(bars, i).close.as_double() / bar_at(bars, i - 1).close.as_double());
    sum += move;
    squares += move * move;
  }
  const double count = at - from;
  return std::sqrt(std::max(0.0, (squares - sum * sum / count) / (count - 1)));
}

/// The highest high of the base that is not the peak's own; from the bottom on where the peak is a turn's right side.
int next_high(Bars bars, const Base& base) {
  const bool turn = base.kind == BaseKind::cup_with_handle || base.kind == BaseKind::double_bottom;
  int at = -1;
  for (int i = turn ? base.low : base.start; i <= base.last; ++i) {
    if (i != base.peak && (at < 0 || bar_at(bars, i).high > bar_at(bars, at).high)) at = i;
  }
  return at;
}

void measure_print(Bars bars, const Base& base, const RuleBook& book, Facts& facts) {
  const DailyBar& peak = bar_at(bars, base.peak);
  double rest = std::max(peak.open, peak.close).as_double();
  for (int i = std::max(0, base.peak - 2); i <= std::min(base.last, base.peak + 2); ++i) {
    if (i != base.peak) rest = std::max(rest, bar_at(bars, i).high.as_double());
  }
  const double over = std::log(peak.high.as_double() / rest);
  if (over <= kPrintAtAll) return;
  const double deviation = deviation_before(bars, base.peak);
  if (deviation <= 0 || over <= book.print_most * deviation) return;
  const int next = next_high(bars, base);
  if (next >= 0)
    facts.print = SinglePrint{percent(peak.high.as_double(), rest), bar_at(bars, next).high, bar_at(bars, next).day};
}

}  // namespace

Price pivot_of(Price peak, const RuleBook& book) {
  const auto tick = static_cast<std::int64_t>(std::llround(book.tick_size * kMicrosPerUnit));
  const std::int64_t rounded = tick > 0 ? (peak.micros + tick / 2) / tick * tick : peak.micros;
  const std::int64_t exact = rounded + static_cast<std::int64_t>(std::llround(book.offset * kMicrosPerUnit));
  return Price{tick > 0 ? (exact + tick - 1) / tick * tick : exact};  // crossed from the tick at or above it on
}

Facts measure(std::span<const DailyBar> bars, const Base& base, const RuleBook& book, const MarketView& market) {
  Facts facts;
  facts.kind = base.kind;
  add_points(bars, base, facts);
  facts.as_of = bar_at(bars, base.last).day;
  facts.last_close = bar_at(bars, base.last).close;
  facts.floor = bar_at(bars, base.second).low;
  facts.pivot = pivot_of(bar_at(bars, base.peak).high, book);
  facts.to_pivot = percent(facts.pivot.as_double(), facts.last_close.as_double());
  facts.length = base.last - base.start + 1;
  measure_rise(bars, base, book, facts);
  measure_depth(bars, base, facts);
  if (base.kind == BaseKind::cup_with_handle) measure_handle(bars, base, facts);
  if (base.kind == BaseKind::double_bottom) measure_double_bottom(bars, base, facts);
  measure_place(bars, base, facts);
  measure_print(bars, base, book, facts);
  measure_volume(bars, base, market.half_days, facts);
  facts.ten_weeks = ten_week_mean(bars.first(static_cast<std::size_t>(base.last) + 1));
  if (!market.index.empty()) {
    facts.index_fall = index_fall(market.index, bar_at(bars, base.start).day, facts.as_of);
    facts.strength = strength_at(strength_line(bars, market.index), base.last);
  }
  return facts;
}

}  // namespace brimwatch
