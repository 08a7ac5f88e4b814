#include "weekend/doubts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "weekend/indicators.h"

namespace brimwatch {
namespace {

using Bars = std::span<const DailyBar>;
constexpr int kNormal = 50;
constexpr int kStillMost = 2;      // sessions without a range: more is a halt, or hardly any trading
constexpr int kLongestBreak = 5;   // days from one bar to the next over holidays; the exchange's longest is seven, 2001
constexpr double kOtherUnit = 30;  // times the volume of the fifty sessions before: shares against hundreds
constexpr double kNear = 0.04;     // how near a jump must be to a split's, in logs
constexpr double kNewsVolume = 3;  // a real jump of such a size trades many times the usual; a split only its ratio
constexpr Price kOneUnit{1'000'000};

const DailyBar& bar(Bars bars, int i) { return bars[static_cast<std::size_t>(i)]; }
int last_of(Bars bars) { return static_cast<int>(bars.size()) - 1; }

template <typename... Args>
std::string say(const char* format, Args... args) {
  char text[200];
  std::snprintf(text, sizeof text, format, args...);
  return text;
}

/// Bars in [from, last] of which `is` holds: how many, and the last of them.
template <typename Is>
std::string count_of(Bars bars, int from, int allowed, const char* what, Is is) {
  int count = 0, last = 0;
  for (int i = from; i <= last_of(bars); ++i) {
    if (!is(bar(bars, i))) continue;
    ++count;
    last = i;
  }
  if (count <= allowed) return {};
  return say("%s on %d of the last %d sessions, the last on %s", what, count, last_of(bars) - from + 1,
             to_string(bar(bars, last).day).c_str());
}

std::string missing_by_calendar(Bars bars, int from, std::span<const Date> sessions) {
  const Date first = bar(bars, from).day, last = bar(bars, last_of(bars)).day;
  int at = from, missing = 0;
  Date day;
  for (auto session = std::lower_bound(sessions.begin(), sessions.end(), first);
       session != sessions.end() && *session <= last; ++session) {
    while (bar(bars, at).day < *session) ++at;
    if (bar(bars, at).day == *session) continue;
    ++missing;
    day = *session;
  }
  if (missing == 0) return {};
  return say("%d session%s missing, the last %s", missing, missing == 1 ? "" : "s", to_string(day).c_str());
}

std::string missing_by_holes(Bars bars, int from) {
  for (int i = last_of(bars); i > from; --i) {
    const int days = bar(bars, i).day - bar(bars, i - 1).day;
    if (days <= kLongestBreak) continue;
    return say("no bars for %d days before %s", days, to_string(bar(bars, i).day).c_str());
  }
  return {};
}

struct Ratio {
  double value;
  const char* name;
};
constexpr std::array<Ratio, 14> kSplits = {{{2, "2:1"},
                                            {3, "3:1"},
                                            {1.5, "3:2"},
                                            {4, "4:1"},
                                            {5, "5:1"},
                                            {10, "10:1"},
                                            {20, "20:1"},
                                            {1.0 / 2, "1:2"},
                                            {1.0 / 3, "1:3"},
                                            {1.0 / 4, "1:4"},
                                            {1.0 / 5, "1:5"},
                                            {1.0 / 10, "1:10"},
                                            {1.0 / 20, "1:20"},
                                            {1.0 / 30, "1:30"}}};

/// The split that the step from the close before into bar `i` looks like, and no news: nullptr for none.
const Ratio* split_at(Bars bars, int i) {
  const double jump = std::log(bar(bars, i - 1).close.as_double() / bar(bars, i).open.as_double());
  if (std::abs(jump) < std::log(1.5) - kNear) return nullptr;
  for (const Ratio& ratio : kSplits) {
    if (std::abs(jump - std::log(ratio.value)) > kNear) continue;
    const double before = mean_volume(bars, i - 1, 20);
    return before > 0 && bar(bars, i).volume > kNewsVolume * std::max(1.0, ratio.value) * before ? nullptr : &ratio;
  }
  return nullptr;
}

/// A split told for another day near by; nullptr for none.
const PriceEvent* told_near(const std::vector<PriceEvent>& events, Date day, double ratio) {
  for (const PriceEvent& event : events) {
    if (std::abs(event.day - day) <= 7 && std::abs(std::log(event.ratio / ratio)) < kNear) return &event;
  }
  return nullptr;
}

std::string split_doubt(Bars bars, int i, const Ratio& ratio, const std::vector<PriceEvent>& events) {
  const std::string day = to_string(bar(bars, i).day);
  if (const PriceEvent* event = told_near(events, bar(bars, i).day, ratio.value)) {
    return say("the %s split told for %s shows in the prices on %s", ratio.name, to_string(event->day).c_str(),
               day.c_str());
  }
  return say("from %s to %s on %s: a %s split that nobody told?", to_string(bar(bars, i - 1).close).c_str(),
             to_string(bar(bars, i).open).c_str(), day.c_str(), ratio.name);
}

bool is_other_unit(double jump) {
  return std::abs(std::abs(jump) - std::log(100)) < 0.2 || std::abs(std::abs(jump) - std::log(1000)) < 0.2;
}

std::string volume_unit(Bars bars) {
  const int last = last_of(bars);
  if (last + 1 < 2 * kNormal) return {};
  const double now = mean_volume(bars, last, kNormal), before = mean_volume(bars, last - kNormal, kNormal);
  if (now <= 0 || before <= 0 || (now < kOtherUnit * before && before < kOtherUnit * now)) return {};
  return say("normal volume %s %.0f times within fifty sessions: another unit?", now > before ? "grew" : "fell",
             std::max(now / before, before / now));
}

std::string low_prices(Bars bars, int from) {
  for (int i = last_of(bars); i >= from; --i) {
    if (bar(bars, i).low < kOneUnit) {
      return say("%s on %s: under 1.00, ten cents are too large a step", to_string(bar(bars, i).low).c_str(),
                 to_string(bar(bars, i).day).c_str());
    }
  }
  return {};
}

}  // namespace

std::string unit_doubt(Bars bars, int from, const std::vector<PriceEvent>& events) {
  for (int i = last_of(bars); i > std::max(0, from); --i) {
    const std::int64_t before = bar(bars, i - 1).close.micros, now = bar(bars, i).open.micros;
    if (now * 10 > before * 7 && now * 10 < before * 14) continue;  // most days by far: no logarithm
    if (const Ratio* ratio = split_at(bars, i)) return split_doubt(bars, i, *ratio, events);
    if (!is_other_unit(std::log(static_cast<double>(now) / static_cast<double>(before)))) continue;
    return say("from %s to %s on %s: another unit?", to_string(bar(bars, i - 1).close).c_str(),
               to_string(bar(bars, i).open).c_str(), to_string(bar(bars, i).day).c_str());
  }
  return {};
}

std::vector<std::string> doubts_of(Bars bars, const Grounds& grounds, const std::vector<PriceEvent>& events,
                                   std::span<const Date> sessions) {
  std::vector<std::string> out;
  if (bars.empty()) return out;
  const auto add = [&](std::string doubt) {
    if (!doubt.empty()) out.push_back(std::move(doubt));
  };
  const int shape = std::clamp(grounds.shape, 0, std::max(0, last_of(bars) - kNormal + 1));
  const bool covered =
      !sessions.empty() && sessions.front() <= bar(bars, shape).day && sessions.back() >= bars.back().day;
  add(count_of(bars, shape, 0, "no volume", [](const DailyBar& day) { return day.volume <= 0; }));
  add(count_of(bars, shape, kStillMost, "no range", [](const DailyBar& day) { return day.high == day.low; }));
  add(covered ? missing_by_calendar(bars, shape, sessions) : missing_by_holes(bars, shape));
  add(unit_doubt(bars, grounds.rise, events));
  add(volume_unit(bars));
  add(low_prices(bars, shape));
  return out;
}

}  // namespace brimwatch
