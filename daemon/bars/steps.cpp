#include "bars/steps.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace brimwatch {
namespace {

constexpr double kNewsVolume = 3;  // a real jump of such a size trades many times the usual; a split only its ratio

struct CommonRatio {
  double value;
  const char* name;
};
constexpr std::array<CommonRatio, 14> kCommonRatios = {{{2, "2:1"},
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

double usual_volume(std::span<const DailyBar> bars, int i) {
  constexpr int kSessions = 20;
  double sum = 0;
  const int from = std::max(0, i - kSessions);
  for (int at = from; at < i; ++at) sum += bars[static_cast<std::size_t>(at)].volume;
  return i > from ? sum / (i - from) : 0;
}

bool is_another_unit(double jump) {
  return std::abs(std::abs(jump) - std::log(100)) < 0.2 || std::abs(std::abs(jump) - std::log(1000)) < 0.2;
}

}  // namespace

BarStep step_at(std::span<const DailyBar> bars, int i) {
  const std::int64_t before = bars[static_cast<std::size_t>(i) - 1].close.micros;
  const std::int64_t now = bars[static_cast<std::size_t>(i)].open.micros;
  if (before <= 0 || now <= 0) return {};
  if (now * 10 > before * 7 && now * 10 < before * 14) return {};  // most days by far: no logarithm
  const double ratio = static_cast<double>(before) / static_cast<double>(now), jump = std::log(ratio);
  if (is_another_unit(jump)) return {ratio, ""};
  if (std::abs(jump) < std::log(1.5) - kSplitNearInLogs) return {};
  for (const CommonRatio& common : kCommonRatios) {
    if (std::abs(jump - std::log(common.value)) > kSplitNearInLogs) continue;
    const double usual = usual_volume(bars, i);
    const bool news =
        usual > 0 && bars[static_cast<std::size_t>(i)].volume > kNewsVolume * std::max(1.0, common.value) * usual;
    return news ? BarStep{} : BarStep{common.value, common.name};
  }
  return {};
}

}  // namespace brimwatch
