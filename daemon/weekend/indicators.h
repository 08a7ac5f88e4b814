#pragma once
// Plain daily indicators over bars: means, volume on rising and falling days, the relative strength line. Pure; the
// daemon may use them too.
#include <optional>
#include <span>
#include <vector>

#include "core/daily.h"

namespace brimwatch {

constexpr int kNormalSessions = 50;  ///< whose mean volume is normal

/// Mean volume of the `count` bars that end at `last` (fewer where history is short); 0 for none.
[[nodiscard]] double mean_volume(std::span<const DailyBar> bars, int last, int count);

/// The mean of the newest kNormalSessions full days up to bar `last`, as volume/history.h has it: half days, and days
/// without volume, are left out. 0 where there is none.
[[nodiscard]] double full_day_volume(std::span<const DailyBar> bars, int last, std::span<const Date> half_days);

/// Mean close of the `count` bars that end at `last`; empty where history is shorter.
[[nodiscard]] std::optional<double> mean_close(std::span<const DailyBar> bars, int last, int count);

/// Volume of the days that closed above the day before / volume of those that closed below, over `count` bars that end at
/// `last`; empty when no day closed below.
[[nodiscard]] std::optional<double> rising_volume(std::span<const DailyBar> bars, int last, int count);

/// The relative strength line: close / close of the index on the same day. Days that the index lacks carry the last
/// known value on; leading ones are 0. One value a bar.
[[nodiscard]] std::vector<double> strength_line(std::span<const DailyBar> bars, std::span<const DailyBar> index);

struct Strength {
  double line = 0;       ///< close / index
  double place = 0;      ///< place in the highest and lowest of 252 sessions, 0..100
  bool at_high = false;  ///< the highest of them
  int sessions = 0;      ///< how many there were, 252 or fewer
};

/// Of the line's value at `at`; empty where fewer than 50 sessions are known.
[[nodiscard]] std::optional<Strength> strength_at(std::span<const double> line, int at);

/// Deepest fall of the index from a close to a later close between two days, %; empty when it has no bars there.
[[nodiscard]] std::optional<double> index_fall(std::span<const DailyBar> index, Date from, Date to);

}  // namespace brimwatch
