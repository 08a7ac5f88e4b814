#include "evening/base_rates.h"

#include <algorithm>
#include <numeric>

#include "crossings/crossing.h"
#include "crossings/odds.h"
#include "crossings/plain_high.h"
#include "evening/median.h"

namespace brimwatch {
namespace {

constexpr int kSwing = 20, kWeek = 7;
constexpr int kLossPercent = 8;
// Of 35,023 crossings of plain highs by 501 large US stocks, 2001-2020: see crossings/odds.h. Best and worst are in
// ordinary moves.
constexpr double kPanelHeld = 0.54, kPanelSurge = 0.30, kPanelBest = 3.8, kPanelWorst = -3.0;

double percent(Price price, Price entry) { return 100 * (price.as_double() / entry.as_double() - 1); }

Date monday_of(Date day) { return day - static_cast<int>((day.weekday() - std::chrono::Monday).count()); }

double share(const std::vector<bool>& of) {
  return of.empty() ? 0 : static_cast<double>(std::count(of.begin(), of.end(), true)) / static_cast<double>(of.size());
}

/// Sold at the limit, or at an opening under it, or at the close of the 20th session; else as it stands.
double result_of(Bars bars, int at, Price entry, Price pivot, double cost) {
  const Price limit{pivot.micros / 100 * (100 - kLossPercent)};
  const int last = std::min(at + kSwing, static_cast<int>(bars.size()) - 1);
  Price sold = bar_at(bars, last).close;
  for (int i = at + 1; i <= last; ++i) {
    if (bar_at(bars, i).low > limit) continue;
    sold = std::min(bar_at(bars, i).open, limit);
    break;
  }
  return 100 * (sold.as_double() * (1 - cost) / (entry.as_double() * (1 + cost)) - 1);
}

}  // namespace

BaseRates panel_rates(double ordinary_move) {
  BaseRates out;
  out.from = "plain 50-day highs of 501 large US stocks, 2001-2020";
  out.crossings = 35'023;
  out.held = kPanelHeld, out.surge = kPanelSurge;
  out.up20 = kShippedUp20Rate, out.down8 = kShippedDown8Rate;
  if (ordinary_move <= 0) return out;
  out.from += ", by stocks that move so";
  out.up20 = kShippedUp20.at(ordinary_move), out.down8 = kShippedDown8.at(ordinary_move);
  out.best = kPanelBest * ordinary_move, out.worst = kPanelWorst * ordinary_move;
  return out;
}

PlainCrossings::PlainCrossings(Date from, Date to, double cost_percent)
    : from_(monday_of(from)), to_(monday_of(to) + kWeek - 1), cost_(cost_percent / 100) {}

void PlainCrossings::add(Bars bars) {
  const auto before = held_.size();
  std::set<int> seen;  // two weekends may have the same high
  for (Date weekend = from_ - kWeek - 2; weekend < to_; weekend = weekend + kWeek) {
    const auto after =
        std::upper_bound(bars.begin(), bars.end(), weekend, [](Date day, const DailyBar& one) { return day < one.day; });
    const int last = static_cast<int>(after - bars.begin()) - 1;
    const auto high = last >= 0 ? plain_high(bars, last) : std::nullopt;
    if (high) add_crossing(bars, last, high->pivot, seen);
  }
  stocks_ += held_.size() > before;
}

void PlainCrossings::add_crossing(Bars bars, int last, Price pivot, std::set<int>& seen) {
  const FollowedPivot one = follow_pivot(bars, last, pivot);
  if (one.at < 0 || !one.bought || bar_at(bars, one.at).day < from_ || bar_at(bars, one.at).day > to_) return;
  if (!seen.insert(one.at).second) return;
  held_.push_back(one.held);
  surge_.push_back(one.surge);
  results_.push_back(result_of(bars, one.at, one.entry, pivot, cost_));
  const int known = static_cast<int>(bars.size()) - 1 - one.at;
  if (one.first != CameFirst::neither || known >= kFollowedFor) {
    up20_.push_back(one.first == CameFirst::up20);
    down8_.push_back(one.first == CameFirst::down8);
  }
  if (known < kSwing) return;
  const Bars next = bars.subspan(static_cast<std::size_t>(one.at + 1), kSwing);
  const auto highest = std::max_element(next.begin(), next.end(), [](auto& a, auto& b) { return a.high < b.high; });
  const auto lowest = std::min_element(next.begin(), next.end(), [](auto& a, auto& b) { return a.low < b.low; });
  best_.push_back(percent(highest->high, one.entry));
  worst_.push_back(percent(lowest->low, one.entry));
}

BaseRates PlainCrossings::rates(double ordinary_move) const {
  BaseRates out = panel_rates(ordinary_move);
  if (crossings() < kLeastOwnCrossings) return out;
  out.own = true;
  out.crossings = crossings();
  out.from = "plain 50-day highs of your own bars in the same weeks, " + std::to_string(crossings()) + " crossings of " +
             std::to_string(stocks_) + (stocks_ == 1 ? " stock" : " stocks");
  out.held = share(held_), out.surge = share(surge_);
  if (static_cast<int>(up20_.size()) >= kLeastOwnCrossings) out.up20 = share(up20_), out.down8 = share(down8_);
  if (static_cast<int>(best_.size()) >= kLeastOwnCrossings) out.best = median(best_), out.worst = median(worst_);
  const auto count = static_cast<double>(results_.size());
  const auto won = std::count_if(results_.begin(), results_.end(), [](double one) { return one > 0; });
  out.following = {{static_cast<int>(results_.size()), std::accumulate(results_.begin(), results_.end(), 0.0) / count,
                    static_cast<double>(won) / count}};
  return out;
}

}  // namespace brimwatch
