#include "weekend/indicators.h"

#include <algorithm>

namespace brimwatch {
namespace {
constexpr int kYear = 252;
constexpr int kLeastForPlace = 50;

}  // namespace

double mean_volume(std::span<const DailyBar> bars, int last, int count) {
  const int from = std::max(0, last - count + 1);
  if (last < from) return 0;
  double sum = 0;
  for (int i = from; i <= last; ++i) sum += bar_at(bars, i).volume;
  return sum / (last - from + 1);
}

double full_day_volume(std::span<const DailyBar> bars, int last, std::span<const Date> half_days) {
  double sum = 0;
  int count = 0;
  for (int i = last; i >= 0 && count < kNormalSessions; --i) {
    const DailyBar& bar = bar_at(bars, i);
    if (!(bar.volume > 0) || std::binary_search(half_days.begin(), half_days.end(), bar.day)) continue;
    sum += bar.volume;
    ++count;
  }
  return count > 0 ? sum / count : 0;
}

std::optional<double> mean_close(std::span<const DailyBar> bars, int last, int count) {
  if (last + 1 < count) return std::nullopt;
  double sum = 0;
  for (int i = last - count + 1; i <= last; ++i) sum += bar_at(bars, i).close.as_double();
  return sum / count;
}

std::optional<double> rising_volume(std::span<const DailyBar> bars, int last, int count) {
  double up = 0, down = 0;
  for (int i = std::max(1, last - count + 1); i <= last; ++i) {
    const auto change = bar_at(bars, i).close <=> bar_at(bars, i - 1).close;
    if (change > 0) up += bar_at(bars, i).volume;
    if (change < 0) down += bar_at(bars, i).volume;
  }
  if (down <= 0) return std::nullopt;
  return up / down;
}

std::vector<double> strength_line(std::span<const DailyBar> bars, std::span<const DailyBar> index) {
  std::vector<double> line(bars.size(), 0);
  std::size_t at = 0;
  double level = 0;
  for (std::size_t i = 0; i < bars.size(); ++i) {
    for (; at < index.size() && index[at].day <= bars[i].day; ++at) level = index[at].close.as_double();
    if (level > 0) line[i] = bars[i].close.as_double() / level;
  }
  return line;
}

std::optional<Strength> strength_at(std::span<const double> line, int at) {
  Strength out;
  if (at < 0 || line[static_cast<std::size_t>(at)] <= 0) return std::nullopt;
  out.line = line[static_cast<std::size_t>(at)];
  double least = out.line, most = out.line;
  for (int i = at; i >= std::max(0, at - kYear + 1) && line[static_cast<std::size_t>(i)] > 0; --i, ++out.sessions) {
    least = std::min(least, line[static_cast<std::size_t>(i)]);
    most = std::max(most, line[static_cast<std::size_t>(i)]);
  }
  if (out.sessions < kLeastForPlace) return std::nullopt;
  out.place = most > least ? 100 * (out.line - least) / (most - least) : 100;
  out.at_high = out.line >= most;
  return out;
}

std::optional<double> index_fall(std::span<const DailyBar> index, Date from, Date to) {
  double top = 0, fall = 0;
  for (const DailyBar& day : index) {
    if (day.day < from || day.day > to) continue;
    if (top > 0) fall = std::max(fall, 100 * (1 - day.close.as_double() / top));
    top = std::max(top, day.close.as_double());
  }
  if (top <= 0) return std::nullopt;
  return fall;
}

}  // namespace brimwatch
