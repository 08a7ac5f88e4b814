#include "volume/projection.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

#include "volume/circumstances.h"
#include "volume/coefficients.h"
#include "volume/day_total.h"
#include "volume/learning/prior.h"
#include "volume/recent.h"
#include "volume/students_t.h"

namespace brimwatch {
namespace {

constexpr double kSurpriseMost = 3;     // a surprise beyond e^3 says no more than e^3
constexpr double kNoPriorSpread = 0.6;  // without any idea of the day's level

double finite_or(double value, double other) { return std::isfinite(value) ? value : other; }

/// Where the day stands by the curve.
struct Expected {
  double minutes = 0;  ///< of 390, halts and all: how far the day is from its end
  double seen = 0;     ///< share of the day by now, holes left out
  double left = 0;     ///< share to come, that of holes too; what was not traded in a halt does not come any more
  double auction = 0;  ///< share that the closing print brings
};

/// Since the open, halts and all.
double wall_minutes(const DayPlan& plan, const Moment& moment, double minutes) {
  return std::min(minutes + std::max(finite_or(moment.halted, 0), 0.0), plan.session_minutes);
}

Expected expect(const DayPlan& plan, const Moment& moment, double minutes) {
  const Curve& curve = plan.curve != nullptr ? *plan.curve : default_curve();
  Expected out;
  const double to_390 = 390 / plan.session_minutes;
  const double wall = wall_minutes(plan, moment, minutes);
  out.minutes = wall * to_390;
  out.auction = curve.auction;
  const bool due = moment.auction_due && wall >= plan.session_minutes;
  const double done = curve.at(minutes * to_390) - (due && wall == minutes ? curve.auction : 0);
  const double gone = curve.at(out.minutes) - (due ? curve.auction : 0);
  const double opening = moment.opening_missed ? opening_print_share(done) : 0;
  const double missed = std::clamp(finite_or(moment.missed_share, 0) + opening, 0.0, 1.0);
  out.seen = std::clamp(done - missed, 0.0, 1.0);
  out.left = std::clamp(1 - (gone - missed), 0.0, 1.0);
  return out;
}

/// What the volume so far says about the volume to come: how far it runs ahead of the expected, in ln. The latest
/// quarter-hours weigh most; the plain sum has a say too, and the only one where they are not known.
double surprise(const DayPlan& plan, const DayVolume& day, const Expected& expected, const Moment& moment,
                double minutes) {
  constexpr double kRecentPart = 0.85;
  const double so_far = day.so_far.as_double();
  if (!(so_far > 0) || expected.seen < kLeastExpected) return 0;
  const double whole = std::clamp(std::log(so_far / expected.seen) - plan.prior, -kSurpriseMost, kSurpriseMost);
  const auto recent = recent_surprise(plan, day, moment, minutes);
  return recent ? whole + kRecentPart * (*recent - whole) : whole;
}

/// The closing auction's part in what is to come.
double auction_part(const Expected& expected, double auction) {
  return auction / std::max(expected.left, auction + kLeastExpected);
}

/// How much more is traded late on the last session of a month, in ln of what is to come: index funds trade at the close.
/// From hour bars of 2004-2013, tapes with and without an auction to be seen.
double month_end_shift(double minutes) {
  struct ShiftAt {
    double minute, shift;
  };
  constexpr std::array<ShiftAt, 6> kShifts = {{{0, .02}, {90, .06}, {150, .08}, {210, .11}, {270, .17}, {330, .24}}};
  if (minutes >= kShifts.back().minute) return kShifts.back().shift;
  std::size_t i = 1;
  while (minutes > kShifts[i].minute) ++i;
  const ShiftAt &from = kShifts[i - 1], &to = kShifts[i];
  return from.shift + (minutes - from.minute) / (to.minute - from.minute) * (to.shift - from.shift);
}

/// Days whose close is known beforehand to be heavy. At a quarterly expiry the opening auction is too, so that the early
/// volume already speaks for the day: the term fades in over ninety minutes.
double calendar_shift(const DayPlan& plan, const Expected& expected, double by_table) {
  constexpr double kExpiryExtra = 2, kMonthEndExtra = 1, kFadeIn = 90;  // auctions more than the usual one
  constexpr double kNone = 0.05, kPlain = 0.10;  // below and above: no closing auction in the curve, plainly one
  const double plain = std::clamp((expected.auction - kNone) / (kPlain - kNone), 0.0, 1.0);
  const double part = auction_part(expected, expected.auction * plain);
  if (plan.expiry) return by_table + std::min(expected.minutes / kFadeIn, 1.0) * std::log1p(kExpiryExtra * part);
  if (!plan.month_end) return 0;
  constexpr double kUnseen = 0.4;  // part of the table's shift where no auction is to be seen in the curve
  return std::max(month_end_shift(expected.minutes) * (kUnseen + (1 - kUnseen) * plain),
                  std::log1p(kMonthEndExtra * part));
}

/// What such a close brings is also less known than on other days.
double calendar_width(const DayPlan& plan) {
  constexpr double kExpiry = 1.4, kMonthEnd = 1.1;
  return plan.expiry ? kExpiry : plan.month_end ? kMonthEnd : 1;
}

double wanted_odds(const DayPlan& plan, const DayTotal& total, const Moment& moment, double so_far, double wanted) {
  constexpr double kMostAtOpen = .97;  // by the gap alone, before there is any volume to speak of
  if (!(wanted > 0) || plan.prior == 0) return 0;
  const double odds = total.odds(wanted);
  return moment.minutes < 1 && so_far < wanted ? std::min(odds, kMostAtOpen) : odds;
}

}  // namespace

RemainderForecast forecast_remainder(const DayPlan& plan, const DayVolume& day, const Moment& moment) {
  RemainderForecast out;
  out.so_far = day.so_far.as_double();
  if (!(plan.session_minutes > 0)) return out.final = true, out;
  const double minutes = std::clamp(finite_or(moment.minutes, 0), 0.0, plan.session_minutes);
  const Expected expected = expect(plan, moment, minutes);
  const bool over = wall_minutes(plan, moment, minutes) >= plan.session_minutes;
  if (expected.left <= 0 || (over && !moment.auction_due)) return out.final = true, out;
  const Coefficients c = coefficients_at(expected.minutes, plan.gap);
  const double to_come = std::log(expected.left);
  if (plan.prior == 0) {  // no level known: the curve alone
    const double level = out.so_far > 0 && expected.seen > kLeastExpected ? std::log(out.so_far / expected.seen) : -60;
    return out.mu = level + to_come, out.spread = kNoPriorSpread, out;
  }
  // The closing auction follows the day's surprise far less than trading does.
  constexpr double kAuctionDeaf = 0.7;
  const double slope = std::min(expected.minutes, 1.0) * c.slope *  // the first minute fades in
                       (1 - kAuctionDeaf * auction_part(expected, expected.auction));
  const double ahead = surprise(plan, day, expected, moment, minutes);
  out.spread = c.spread * plan.scale * calendar_width(plan) * gap_widening(plan, expected.minutes);
  out.mu = plan.prior + to_come + c.shift + slope * ahead + circumstance_shift(plan, expected.minutes, ahead) +
           calendar_shift(plan, expected, c.expiry) + crossing_shift(moment.lift, moment.since_crossing, expected.left) -
           kSkewMean * out.spread;  // the table gives means, mu is the median
  return out;
}

Projection project(const DayPlan& plan, const DayVolume& day, const Moment& moment, double wanted) {
  static const double kTenth = skewed_t8_inverse(0.1), kNineTenths = skewed_t8_inverse(0.9);
  const RemainderForecast forecast = forecast_remainder(plan, day, moment);
  const DayTotal total(plan, forecast);
  Projection out;
  out.median = total.at(0);
  out.low = total.at(kTenth);
  out.high = total.at(kNineTenths);
  out.odds = wanted_odds(plan, total, moment, forecast.so_far, wanted);
  return out;
}

double project_odds(const DayPlan& plan, const DayVolume& day, const Moment& moment, double wanted) {
  const RemainderForecast forecast = forecast_remainder(plan, day, moment);
  return wanted_odds(plan, DayTotal(plan, forecast), moment, forecast.so_far, wanted);
}

double project_quantile(const DayPlan& plan, const DayVolume& day, const Moment& moment, double p) {
  return DayTotal(plan, forecast_remainder(plan, day, moment)).at(skewed_t8_inverse(p));
}

double opening_print_share(double expected_so_far) {
  constexpr double kOpeningPrint = 0.015;  // of a day
  return std::min(kOpeningPrint, expected_so_far / 2);
}

double opening_gap(double open, double previous_close, double daily_sd) {
  if (!(open > 0) || !(previous_close > 0) || !(daily_sd > 0)) return -1;
  const double jump = std::fabs(std::log(open / previous_close));
  for (const auto& [ratio, name] : kSplitRatios) {
    if (std::fabs(jump - std::log(ratio)) < 0.04) return -1;
  }
  return jump / daily_sd;
}

}  // namespace brimwatch
