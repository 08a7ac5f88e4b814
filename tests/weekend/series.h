#pragma once
// Daily series for the tests: random walks with fat tails, and bases of known shape planted in them. Seeded; the same
// seed gives the same series.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>
#include <span>
#include <vector>

#include "core/daily.h"
#include "weekend/base.h"

namespace brimwatch::testing_support {

/// Weekdays from 2020-01-01 on; holidays do not matter here.
inline Date session_day(int n) {
  const Date monday = Date::of(2020, 1, 6);
  return monday + (n / 5 * 7 + n % 5);
}

/// One step of the source of noise: Student-t with four degrees of freedom, scaled to standard deviation `sd`.
class FatTails {
 public:
  explicit FatTails(std::uint64_t seed) : random_(seed) {}
  double step(double sd) { return sd * tails_(random_) / std::sqrt(2.0); }
  double uniform(double from, double to) { return std::uniform_real_distribution<double>(from, to)(random_); }
  int whole(int from, int to) { return std::uniform_int_distribution<int>(from, to)(random_); }

 private:
  std::mt19937_64 random_;
  std::student_t_distribution<double> tails_{4};
};

inline Price cents(double price) { return Price{std::llround(price * 100) * 10'000}; }

/// Bars along a path of closes: a spread of `sd` a day around each, volume with memory around `volume`[i].
inline std::vector<DailyBar> bars_along(const std::vector<double>& closes, const std::vector<double>& volume, double sd,
                                        FatTails& noise) {
  std::vector<DailyBar> bars;
  double memory = 0;
  for (std::size_t i = 0; i < closes.size(); ++i) {
    DailyBar bar;
    bar.day = session_day(static_cast<int>(i));
    const double before = i > 0 ? closes[i - 1] : closes[i];
    const double open = before * std::exp(noise.step(sd / 3));
    bar.open = cents(open);
    bar.close = cents(closes[i]);
    bar.high = cents(std::max(open, closes[i]) * std::exp(std::abs(noise.step(sd / 2))));
    bar.low = cents(std::min(open, closes[i]) * std::exp(-std::abs(noise.step(sd / 2))));
    memory = 0.7 * memory + noise.step(0.25);
    bar.volume = std::round(volume[i] * std::exp(memory));
    bars.push_back(bar);
  }
  return bars;
}

inline std::vector<DailyBar> random_walk(int count, double daily_sd, std::uint64_t seed, double drift = 0.0004) {
  FatTails noise(seed);
  std::vector<double> closes, volume(static_cast<std::size_t>(count), 1e6);
  double level = std::log(50.0);
  for (int i = 0; i < count; ++i) closes.push_back(std::exp(level += drift + noise.step(daily_sd)));
  return bars_along(closes, volume, daily_sd, noise);
}

/// The same with calm and wild stretches: GARCH(1,1) (Bollerslev, 1986) with weights 0.08 on the last square and 0.90 on
/// the last variance, as daily stock returns have about; `daily_sd` in the long run.
inline std::vector<DailyBar> clustered_walk(int count, double daily_sd, std::uint64_t seed, double drift = 0.0004) {
  FatTails noise(seed);
  std::vector<double> closes, volume(static_cast<std::size_t>(count), 1e6);
  double level = std::log(50.0), variance = daily_sd * daily_sd;
  for (int i = 0; i < count; ++i) {
    const double step = noise.step(std::sqrt(variance));
    closes.push_back(std::exp(level += drift + step));
    variance = 0.02 * daily_sd * daily_sd + 0.08 * std::min(step * step, 25 * variance) + 0.90 * variance;
  }
  return bars_along(closes, volume, daily_sd, noise);
}

/// Real days in another order: what each day did to the close before it stays together, what came after what does not.
inline std::vector<DailyBar> shuffled_days(const std::vector<DailyBar>& real, std::uint64_t seed) {
  std::vector<std::size_t> order;
  for (std::size_t i = 1; i < real.size(); ++i) order.push_back(i);
  std::mt19937_64 random(seed);
  std::shuffle(order.begin(), order.end(), random);
  std::vector<DailyBar> out = {real.front()};
  for (const std::size_t from : order) {
    const double before = real[from - 1].close.as_double(), now = out.back().close.as_double();
    const auto moved = [&](Price price) { return cents(std::max(0.01, price.as_double() / before * now)); };
    DailyBar bar = real[from];
    bar.day = real[out.size()].day;
    bar.open = moved(bar.open);
    bar.high = moved(bar.high);
    bar.low = moved(bar.low);
    bar.close = moved(bar.close);
    out.push_back(bar);
  }
  return out;
}

}  // namespace brimwatch::testing_support
