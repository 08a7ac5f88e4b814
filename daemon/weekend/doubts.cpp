#include "weekend/doubts.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "bars/steps.h"
#include "weekend/indicators.h"

namespace brimwatch {
namespace {

constexpr int kStillMost = 2;      // sessions without a range: more is a halt, or hardly any trading
constexpr int kLongestBreak = 5;   // days from one bar to the next over holidays; the exchange's longest is seven, 2001
constexpr double kOtherUnit = 30;  // times the volume of the fifty sessions before: shares against hundreds
constexpr Price kOneUnit{1'000'000};

int last_of(Bars bars) { return static_cast<int>(bars.size()) - 1; }

/// Bars in [from, last] of which `is` holds: how many, and the last of them.
template <typename Is>
std::string count_of(Bars bars, int from, int allowed, const char* what, Is is) {
  int count = 0, last = 0;
  for (int i = from; i <= last_of(bars); ++i) {
    if (!is(bar_at(bars, i))) continue;
    ++count;
    last = i;
  }
  if (count <= allowed) return {};
  return fmt::format("{} on {} of the last {} sessions, the last on {}", what, count, last_of(bars) - from + 1,
                     to_string(bar_at(bars, last).day));
}

std::string missing_by_calendar(Bars bars, int from, std::span<const Date> sessions) {
  const Date first = bar_at(bars, from).day, last = bar_at(bars, last_of(bars)).day;
  int at = from, missing = 0;
  Date day;
  for (auto session = std::lower_bound(sessions.begin(), sessions.end(), first);
       session != sessions.end() && *session <= last; ++session) {
    while (bar_at(bars, at).day < *session) ++at;
    if (bar_at(bars, at).day == *session) continue;
    ++missing;
    day = *session;
  }
  if (missing == 0) return {};
  return fmt::format("{} session{} missing, the last {}", missing, missing == 1 ? "" : "s", to_string(day));
}

std::string missing_by_holes(Bars bars, int from) {
  for (int i = last_of(bars); i > from; --i) {
    const int days = bar_at(bars, i).day - bar_at(bars, i - 1).day;
    if (days <= kLongestBreak) continue;
    return fmt::format("no bars for {} days before {}", days, to_string(bar_at(bars, i).day));
  }
  return {};
}

/// A split told for another day near by; nullptr for none.
const PriceEvent* told_near(const std::vector<PriceEvent>& events, Date day, double ratio) {
  for (const PriceEvent& event : events) {
    if (std::abs(event.day - day) <= 7 && std::abs(std::log(event.ratio / ratio)) < kSplitNearInLogs) return &event;
  }
  return nullptr;
}

std::string split_doubt(Bars bars, int i, const BarStep& step, const std::vector<PriceEvent>& events) {
  const std::string day = to_string(bar_at(bars, i).day);
  if (const PriceEvent* event = told_near(events, bar_at(bars, i).day, step.ratio)) {
    return fmt::format("the {} split told for {} shows in the prices on {}", step.name, to_string(event->day), day);
  }
  return fmt::format("from {} to {} on {}: an unreported {} split?", to_string(bar_at(bars, i - 1).close),
                     to_string(bar_at(bars, i).open), day.c_str(), step.name);
}

std::string volume_unit(Bars bars) {
  const int last = last_of(bars);
  if (last + 1 < 2 * kNormalSessions) return {};
  const double now = mean_volume(bars, last, kNormalSessions),
               before = mean_volume(bars, last - kNormalSessions, kNormalSessions);
  if (now <= 0 || before <= 0 || (now < kOtherUnit * before && before < kOtherUnit * now)) return {};
  return fmt::format("normal volume {} {:.0f} times within fifty sessions: another unit?", now > before ? "grew" : "fell",
                     std::max(now / before, before / now));
}

std::string low_prices(Bars bars, int from) {
  for (int i = last_of(bars); i >= from; --i) {
    if (bar_at(bars, i).low < kOneUnit) {
      return fmt::format("{} on {}: under 1.00, ten cents are too large a step", to_string(bar_at(bars, i).low),
                         to_string(bar_at(bars, i).day));
    }
  }
  return {};
}

}  // namespace

std::string unit_doubt(Bars bars, int from, const std::vector<PriceEvent>& events) {
  for (int i = last_of(bars); i > std::max(0, from); --i) {
    const BarStep step = step_at(bars, i);
    if (step.ratio == 0) continue;
    if (*step.name != '\0') return split_doubt(bars, i, step, events);
    return fmt::format("from {} to {} on {}: another unit?", to_string(bar_at(bars, i - 1).close),
                       to_string(bar_at(bars, i).open), to_string(bar_at(bars, i).day));
  }
  return {};
}

std::vector<std::string> doubts_of(Bars bars, const Grounds& grounds, const std::vector<PriceEvent>& events,
                                   std::span<const Date> sessions, const BarChecks& checks) {
  std::vector<std::string> out;
  if (bars.empty()) return out;
  const auto add = [&](BarTreatment treatment, std::string doubt) {
    if (treatment != BarTreatment::use && !doubt.empty()) out.push_back(std::move(doubt));
  };
  const int shape = std::clamp(grounds.shape, 0, std::max(0, last_of(bars) - kNormalSessions + 1));
  const bool covered =
      !sessions.empty() && sessions.front() <= bar_at(bars, shape).day && sessions.back() >= bars.back().day;
  add(checks.still, count_of(bars, shape, 0, "no volume", [](const DailyBar& day) { return day.volume <= 0; }));
  add(checks.still,
      count_of(bars, shape, kStillMost, "no range", [](const DailyBar& day) { return day.high == day.low; }));
  add(checks.missing, covered ? missing_by_calendar(bars, shape, sessions) : missing_by_holes(bars, shape));
  add(checks.split, unit_doubt(bars, grounds.rise, events));
  add(BarTreatment::doubt, volume_unit(bars));
  add(BarTreatment::doubt, low_prices(bars, shape));
  return out;
}

}  // namespace brimwatch
