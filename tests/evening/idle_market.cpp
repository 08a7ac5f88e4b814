#include "idle_market.h"

#include <algorithm>
#include <cmath>
#include <random>

namespace brimwatch::testing_support {
namespace {

constexpr int kStocks = 20, kBefore = 60, kTrend = 50;
constexpr double kCrosses = 0.1;  ///< of the stocks, a session

class Dice {
 public:
  explicit Dice(std::uint64_t seed) : random_(seed) {}
  /// Student's t of five degrees of freedom, scaled to a standard deviation of 1.
  double fat() { return tails_(random_) * std::sqrt(3.0 / 5.0); }
  double even() { return static_cast<double>(random_() >> 11) * 0x1p-53; }

 private:
  std::mt19937_64 random_;
  std::student_t_distribution<double> tails_{5};
};

/// Levels, in percent, of kBefore sessions, those of the run, and kIdleSpan more.
struct Market {
  std::vector<double> index, spread;
  std::vector<std::vector<double>> stocks;
};

Market market_of(int sessions, Dice& dice) {
  Market out;
  out.stocks.resize(kStocks);
  std::vector<double> levels(kStocks);
  double variance = 1, level = 0;
  for (int day = 0; day < sessions + kBefore + kIdleSpan; ++day) {
    const double spread = std::sqrt(variance), move = spread * dice.fat();
    out.index.push_back(level += move);
    out.spread.push_back(spread);
    for (std::size_t i = 0; i < kStocks; ++i) out.stocks[i].push_back(levels[i] += move + 1.5 * spread * dice.fat());
    variance = 0.02 + 0.10 * move * move + 0.88 * variance;
  }
  return out;
}

/// `at` counts the days of the market.
bool is_open(IdleRules rules, const Market& market, std::size_t at, double middle) {
  if (rules == IdleRules::calm_half) return market.spread[at] < middle;
  if (rules != IdleRules::trend_gate) return true;
  double mean = 0;
  for (std::size_t back = 1; back <= kTrend; ++back) mean += market.index[at - back] / kTrend;
  return market.index[at] > mean;
}

double middle_of(std::vector<double> values) {
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2), values.end());
  return values[values.size() / 2];
}

void add(Part& part, double value) { part.sum += value, ++part.count; }

}  // namespace

std::string name_of(IdleRules rules) {
  switch (rules) {
    case IdleRules::random:
      return "random";
    case IdleRules::nested:
      return "nested";
    case IdleRules::trend_gate:
      return "trend gate";
    case IdleRules::calm_half:
      return "calm half";
  }
  return {};
}

IdleRun idle_run(IdleRules rules, int sessions, std::uint64_t seed) {
  Dice dice(seed);
  const Market market = market_of(sessions, dice);
  const double middle = middle_of({market.spread.begin() + kBefore, market.spread.begin() + kBefore + sessions});
  const bool by_chance = rules == IdleRules::random || rules == IdleRules::nested;
  IdleRun out;
  out.as_it_is.resize(static_cast<std::size_t>(sessions));
  out.less_index.resize(static_cast<std::size_t>(sessions));
  for (std::size_t day = 0; day < out.as_it_is.size(); ++day) {
    const std::size_t at = day + kBefore;
    const bool open = is_open(rules, market, at, middle);
    for (const auto& stock : market.stocks) {
      if (dice.even() >= kCrosses) continue;
      const double move = stock[at + kIdleSpan] - stock[at], index = market.index[at + kIdleSpan] - market.index[at];
      const bool in_a = rules != IdleRules::random || dice.even() < 0.5, in_b = open && (!by_chance || dice.even() < 0.5);
      if (in_a) add(out.as_it_is[day].a, move), add(out.less_index[day].a, move - index);
      if (in_b) add(out.as_it_is[day].b, move), add(out.less_index[day].b, move - index);
    }
  }
  return out;
}

CalledDifferent called_different(IdleRules rules, int sessions, int runs) {
  CalledDifferent out;
  const auto is_called = [](const std::vector<SessionPair>& pairs) {
    const auto test = block_test(pairs, kIdleSpan);
    return test && test->p < 0.05 ? 1.0 : 0.0;
  };
  for (int run = 0; run < runs; ++run) {
    const IdleRun one = idle_run(rules, sessions, 1000 + static_cast<std::uint64_t>(run));
    out.as_it_is += is_called(one.as_it_is) / runs;
    out.less_index += is_called(one.less_index) / runs;
  }
  return out;
}

}  // namespace brimwatch::testing_support
