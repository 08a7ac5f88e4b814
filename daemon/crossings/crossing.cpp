#include "crossings/crossing.h"

#include <algorithm>

#include "crossings/ordinary_move.h"
#include "crossings/plain_high.h"

namespace brimwatch {
namespace {

constexpr int kNormal = 50;

int last_of(Bars bars) { return static_cast<int>(bars.size()) - 1; }

bool is_up20(Price price, Price entry) { return price.micros * 10 >= entry.micros * 12; }
bool is_down8(Price price, Price entry) { return price.micros * 100 <= entry.micros * 92; }

int first_reaching(Bars bars, int last, Price pivot) {
  const int end = std::min(last + kCrossWithin, last_of(bars));
  for (int i = last + 1; i <= end; ++i) {
    if (bar_at(bars, i).high >= pivot) return i;
  }
  return -1;
}

/// What the prices of one session did to the entry; a fall before a rise, since their order is not known.
CameFirst came(Price high, Price low, Price entry) {
  if (is_down8(low, entry)) return CameFirst::down8;
  return is_up20(high, entry) ? CameFirst::up20 : CameFirst::neither;
}

void follow_entry(Bars bars, FollowedPivot& out) {
  const Price close = bar_at(bars, out.at).close;
  out.first = came(close, close, out.entry);
  const int end = std::min(out.at + kFollowedFor, last_of(bars));
  for (int i = out.at + 1; i <= end && out.first == CameFirst::neither; ++i) {
    out.first = came(bar_at(bars, i).high, bar_at(bars, i).low, out.entry);
    out.sessions = i - out.at;
  }
}

bool is_surge(Bars bars, int at) {
  double sum = 0;
  const int from = std::max(0, at - kNormal);
  for (int i = from; i < at; ++i) sum += bar_at(bars, i).volume;
  return at > from && bar_at(bars, at).volume >= 1.4 * sum / (at - from);
}

}  // namespace

FollowedPivot follow_pivot(Bars bars, int last, Price pivot) {
  FollowedPivot out;
  out.at = first_reaching(bars, last, pivot);
  if (out.at < 0) return out;
  const DailyBar& day = bar_at(bars, out.at);
  out.within_5 = out.at - last <= kCrossWeek;
  out.bought = day.open.micros * 100 <= pivot.micros * 105;
  out.entry = std::max(day.open, pivot);
  out.held = day.close >= pivot;
  out.surge = is_surge(bars, out.at);
  follow_entry(bars, out);
  return out;
}

std::optional<WeekendWatch> watch_of(Bars bars, int last, Price pivot, Date weekend) {
  const auto move = ordinary_move(bars, last);
  if (!move) return std::nullopt;
  WeekendWatch out;
  out.weekend = weekend;
  out.ordinary_move = move->percent;
  out.moves_to_pivot = moves_between(bar_at(bars, last).close, pivot, move->percent);
  out.followed = follow_pivot(bars, last, pivot);
  if (out.followed.at < 0) return out;
  out.crossed = bar_at(bars, out.followed.at).day;
  out.known = bar_at(bars, std::min(out.followed.at + out.followed.sessions, last_of(bars))).day;
  return out;
}

int known_at(Bars bars, Date weekend) {
  const auto after =
      std::upper_bound(bars.begin(), bars.end(), weekend, [](Date day, const DailyBar& one) { return day < one.day; });
  const int last = static_cast<int>(after - bars.begin()) - 1;
  return last + 1 >= kBarsNeeded && last_of(bars) - last >= kBarsAfter ? last : -1;
}

std::vector<WeekendWatch> plain_watches(Bars bars, std::span<const Date> weekends) {
  std::vector<WeekendWatch> out;
  for (const Date weekend : weekends) {
    const int last = known_at(bars, weekend);
    const auto high = last >= 0 ? plain_high(bars, last) : std::nullopt;
    if (!high) continue;
    if (auto watch = watch_of(bars, last, high->pivot, weekend)) out.push_back(std::move(*watch));
  }
  return out;
}

std::vector<Date> days_between(Date from, Date to, int step) {
  std::vector<Date> out;
  for (Date day = from; day <= to; day = day + step) out.push_back(day);
  return out;
}

}  // namespace brimwatch
