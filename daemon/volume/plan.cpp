// The day's plan from history, learned state and the calendar.
#include <algorithm>
#include <cmath>
#include <vector>

#include "volume/circumstances.h"
#include "volume/history.h"
#include "volume/learning/prior.h"
#include "volume/old_high.h"

namespace brimwatch {
namespace {

constexpr std::size_t kNormalDays = 50;

/// The last full sessions before `day`, oldest first; days without trading, half days and days that the calendar does not
/// know to be sessions are left out (a calendar that does not reach back so far takes them all).
std::vector<DailyBar> full_days_before(const std::vector<DailyBar>& daily, Date day, const Calendar& calendar) {
  std::vector<DailyBar> days;
  for (auto bar = daily.rbegin(); bar != daily.rend() && days.size() < kNormalDays; ++bar) {
    if (bar->day >= day || !(bar->volume > 0)) continue;
    const Session* session = calendar.on(bar->day);
    const bool covered = !calendar.sessions().empty() && bar->day >= calendar.sessions().front().day;
    if (session != nullptr ? session->half_day : covered) continue;
    days.push_back(*bar);
  }
  std::reverse(days.begin(), days.end());
  return days;
}

double mean_volume(const std::vector<DailyBar>& days) {
  double sum = 0;
  for (const DailyBar& bar : days) sum += bar.volume;
  return days.empty() ? 0 : sum / static_cast<double>(days.size());
}

double level_of(const Session& session) {
  return half_day_level(session.minutes(), static_cast<unsigned>(session.day.ymd().month()));
}

Prior prior_of(const std::vector<DailyBar>& days, double normal) {
  if (days.empty()) return prior_from_average(normal);
  std::vector<double> logs;
  for (const DailyBar& bar : days) logs.push_back(std::log(bar.volume));
  return prior_from_days(logs);
}

/// Daily returns want every session, half days too.
double deviation_before(const std::vector<DailyBar>& daily, Date day) {
  std::vector<double> closes;
  for (auto bar = daily.rbegin(); bar != daily.rend() && closes.size() <= 20; ++bar) {
    if (bar->day < day && bar->close.is_set()) closes.push_back(bar->close.as_double());
  }
  std::reverse(closes.begin(), closes.end());
  return daily_deviation(closes);
}

void apply_learned(DayPlan& plan, const std::shared_ptr<const Learned>& known) {
  const Learned& learned = *known;
  if (learned.curve.count > 0) plan.curve = {known, &learned.curve};
  plan.scale *= learned.kappa;
  constexpr int kRatioDays = 5;
  constexpr double kSteadyMost = 0.5;  // a judgement: beyond it the day's total is known to a factor of two either way
  if (learned.ratio_days >= kRatioDays && learned.feed_ratio > 0) {
    plan.feed_ratio = learned.feed_ratio;
    plan.feed_ratio_sd = learned.feed_ratio_sd;
    plan.ratio_unsteady = learned.feed_ratio_sd > kSteadyMost;
    plan.normal *= learned.feed_ratio;
    if (plan.prior != 0) plan.prior += std::log(learned.feed_ratio);
  } else if (learned.ratio_doubt || (learned.ratio_days > 0 && std::fabs(std::log(learned.feed_ratio)) > 0.10)) {
    plan.ratio_unknown = true;  // clearly a part of the tape, but not yet known how large a part
  }
}

bool ends_month(const Session& session, const Calendar& calendar) {
  const Session* next = calendar.at_or_after(session.close);
  return next != nullptr && next->day > session.day && next->day.ymd().month() != session.day.ymd().month();
}

void apply_last_close(DayPlan& plan, const std::vector<DailyBar>& daily, Date day, const Calendar& calendar) {
  const auto last = std::find_if(daily.rbegin(), daily.rend(),
                                 [&](const DailyBar& bar) { return bar.day < day && bar.close.is_set(); });
  if (last == daily.rend()) return;
  plan.previous_close = last->close.as_double();
  const Session* const before = calendar.before(day);
  plan.close_is_old = before != nullptr && last->day < before->day;
}

/// How far the symbol's newest half days were above their usual level, in ln, oldest first.
std::vector<double> half_days_above(const std::vector<DailyBar>& daily, Date day, const Calendar& calendar) {
  constexpr std::size_t kDaysMost = 10, kEnough = 20;
  std::vector<double> above;
  for (auto bar = daily.rbegin(); bar != daily.rend() && above.size() < kDaysMost; ++bar) {
    const Session* session = bar->day < day && bar->volume > 0 ? calendar.on(bar->day) : nullptr;
    if (session == nullptr || !session->half_day) continue;
    const std::vector<DailyBar> before = full_days_before(daily, bar->day, calendar);
    if (before.size() < kEnough) break;
    above.push_back(std::log(bar->volume) - prior_of(before, 0).mean - level_of(*session));
  }
  std::reverse(above.begin(), above.end());
  return above;
}

}  // namespace

double half_day_level(const Session& session, const std::vector<DailyBar>& daily, const Calendar& calendar) {
  return own_half_day_level(level_of(session), half_days_above(daily, session.day, calendar));
}

double normal_volume(const std::vector<DailyBar>& daily, Date day, const Calendar& calendar, int* used) {
  const std::vector<DailyBar> days = full_days_before(daily, day, calendar);
  if (used != nullptr) *used = static_cast<int>(days.size());
  return mean_volume(days);
}

DayPlan make_plan(const Session& session, const std::vector<DailyBar>& daily,
                  const std::shared_ptr<const Learned>& learned, std::optional<Shares> given_normal,
                  const Calendar& calendar) {
  const std::vector<DailyBar> days = full_days_before(daily, session.day, calendar);
  DayPlan plan;
  plan.normal = given_normal ? given_normal->as_double() : mean_volume(days);
  constexpr std::size_t kNormalDays = 50;
  if (!given_normal) plan.normal_days = static_cast<int>(std::min(days.size(), kNormalDays));
  const double full_normal = plan.normal;
  const Prior prior = prior_of(days, full_normal);
  plan.prior = prior.mean;
  plan.scale = prior.scale;
  plan.session_minutes = session.minutes();
  plan.half_day = session.half_day;
  plan.expiry = session.expiry;
  plan.month_end = ends_month(session, calendar);
  plan.weekday = static_cast<std::uint8_t>(session.day.weekday().c_encoding());
  plan.highs = recent_highs(daily, session.day, calendar);
  plan.daily_sd = deviation_before(daily, session.day);
  apply_last_close(plan, daily, session.day, calendar);
  if (session.half_day) {
    const double level = half_day_level(session, daily, calendar);
    if (plan.prior != 0) plan.prior += level;
    plan.normal *= std::exp(level);  // a surge on a half day is one over other half days
    plan.scale *= kHalfDayScale;
  }
  plan.thin = thinness(full_normal, plan.previous_close);
  if (learned == nullptr || learned->days == 0) plan.scale *= first_kappa(full_normal);
  if (learned != nullptr) apply_learned(plan, learned);
  return plan;
}

}  // namespace brimwatch
