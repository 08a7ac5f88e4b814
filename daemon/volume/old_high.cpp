#include "volume/old_high.h"

#include <algorithm>
#include <cstddef>

namespace brimwatch {
namespace {

/// Sessions since one of the highs reached the pivot, by the bars alone; one more than there are bars where none did.
int sessions_since(const RecentHighs& highs, Price pivot) {
  int n = 1;
  while (n <= highs.count && highs.high[static_cast<std::size_t>(n - 1)] < pivot) ++n;
  return n;
}

/// Whether none of the newest `wanted` highs was above the pivot; false where fewer are known.
bool tops(const RecentHighs& highs, int wanted, Price pivot) {
  const auto end = highs.high.begin() + wanted;
  return highs.count >= wanted && std::none_of(highs.high.begin(), end, [=](Price high) { return high > pivot; });
}

}  // namespace

int sessions_from(Date from, Date to, const Calendar& calendar) {
  constexpr int kMost = 60;
  if (from == Date{}) return 0;
  int count = 0;
  for (const Session* one = calendar.before(to); one != nullptr && one->day >= from && count < kMost;
       one = calendar.before(one->day)) {
    ++count;
  }
  return count;
}

std::shared_ptr<const RecentHighs> recent_highs(const std::vector<DailyBar>& daily, Date day, const Calendar& calendar) {
  auto highs = std::make_shared<RecentHighs>();
  auto bar = std::find_if(daily.rbegin(), daily.rend(), [=](const DailyBar& one) { return one.day < day; });
  if (bar != daily.rend()) highs->behind = sessions_from(bar->day + 1, day, calendar);
  for (; bar != daily.rend() && highs->count < static_cast<int>(highs->high.size()); ++bar) {
    if (!bar->high.is_set()) break;
    highs->high[static_cast<std::size_t>(highs->count++)] = bar->high;
  }
  return highs->count > 0 ? highs : nullptr;
}

HighAge age_of_high(const RecentHighs* highs, int untouched, Price pivot) {
  constexpr int kFew = 20;
  if (highs == nullptr || highs->count < kFew || highs->behind > untouched) return {untouched + 1, false, false, false};
  return {highs->behind + sessions_since(*highs, pivot), tops(*highs, 50, pivot), tops(*highs, 20, pivot), true};
}

double crossing_lift(const HighAge& age) {
  constexpr int kOld = 6, kNotYesterdays = 2;
  constexpr double kOldHigh = .06, kHigh = .04, kOf20 = .02;
  if (!age.known) return age.sessions > kNotYesterdays ? kHigh : 0;  // a judgement: two sessions watched, and untouched
  if (age.sessions < kNotYesterdays) return 0;
  if (age.of_50) return age.sessions >= kOld ? kOldHigh : kHigh;
  return age.of_20 ? kOf20 : 0;
}

}  // namespace brimwatch
