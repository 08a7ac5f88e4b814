#pragma once
// How crossings end without any list, notice or rule: plain 50-day highs of the user's own bars in the same weeks,
// or where these are few, the rates that were measured on a panel of stocks. A result says little without it. Pure.
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "core/daily.h"

namespace brimwatch {

/// Shares from 0 to 1; percent from the entry, which is the pivot or an opening above it.
struct BaseRates {
  std::string from;                   ///< whose they are, a phrase; empty: there are none
  bool own = false;                   ///< of the user's own bars
  int crossings = 0;                  ///< counted
  double held = 0;                    ///< closed at or above the pivot
  double surge = 0;                   ///< the day had 40 % more volume than normal
  double up20 = 0, down8 = 0;         ///< rose 20 % before falling 8 %, and the reverse, within 60 sessions
  std::optional<double> best, worst;  ///< median of the highest high and of the lowest low of the next 20 sessions
  /// Bought at each, sold 8 % under the pivot or after 20 sessions, open ones as they stand, after costs.
  struct Following {
    int purchases = 0;
    double mean = 0, won = 0;  ///< percent; share that is higher
  };
  std::optional<Following> following;  ///< of own bars only
};

constexpr int kLeastOwnCrossings = 30;  ///< with fewer, the rates of the panel stand in

/// The panel's, for stocks of this ordinary move (percent a day); 0: not known.
[[nodiscard]] BaseRates panel_rates(double ordinary_move);

/// Counts the plain crossings of one stock after another.
class PlainCrossings {
 public:
  /// Crossings of the weeks, Monday to Friday, that hold the days from `from` to `to`.
  PlainCrossings(Date from, Date to, double cost_percent);

  /// Bars ascending, up to today, splits taken out.
  void add(std::span<const DailyBar> bars);

  [[nodiscard]] int crossings() const { return static_cast<int>(held_.size()); }
  /// Own rates where there are enough crossings, else the panel's.
  [[nodiscard]] BaseRates rates(double ordinary_move) const;

 private:
  void add_crossing(std::span<const DailyBar> bars, int last, Price pivot, std::set<int>& seen);

  Date from_, to_;
  double cost_;
  int stocks_ = 0;
  std::vector<bool> held_, surge_, up20_, down8_;
  std::vector<double> best_, worst_, results_;
};

}  // namespace brimwatch
