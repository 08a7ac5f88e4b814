#include "live/projection_errors.h"

#include <algorithm>
#include <cmath>

namespace brimwatch {
namespace {

constexpr int kMinutes[] = {30, 60, 120, 240};
constexpr double kStale = 5;      // minutes: an older point was not said then
constexpr double kWhole = 0.999;  // of the day's expected volume, heard

/// What was projected at that minute; 0: nothing.
double said_at(const std::vector<DayMinute>& minutes, double minute) {
  const auto after =
      std::find_if(minutes.begin(), minutes.end(), [minute](const DayMinute& one) { return one.minute > minute; });
  if (after == minutes.begin()) return 0;
  const DayMinute& last = *std::prev(after);
  return minute - last.minute <= kStale ? last.projected : 0;
}

}  // namespace

void ProjectionErrors::take(const DayRecord& day, const DayBook& book) {
  if (day.day != book.day() || day.coverage < kWhole || day.volume.micros <= 0) return;
  if (day.day != day_) sums_.clear();
  day_ = day.day;
  for (const int minute : kMinutes) {
    const double said = said_at(book.minutes(day.symbol), minute);
    if (said <= 0) continue;
    const double off = said / day.volume.as_double() - 1;
    Sum& sum = sums_[minute];
    ++sum.stocks;
    sum.absolute += std::abs(off);
    sum.plain += off;
  }
}

std::vector<ProjectionError> ProjectionErrors::rows() const {
  std::vector<ProjectionError> out;
  for (const auto& [minute, sum] : sums_)
    out.push_back({minute, sum.stocks, sum.absolute / sum.stocks, sum.plain / sum.stocks});
  return out;
}

}  // namespace brimwatch
