#pragma once
// What the day's volume is expected to be before the open, from the days before it. Pure: no dates, no calendar.
#include <array>
#include <span>

namespace brimwatch {

struct Prior {
  double mean = 0;   ///< expected ln of the day's volume; 0: nothing known
  double scale = 1;  ///< widening of the errors for a short history
};

/// `log_volumes`: ln of the volumes of past full sessions, oldest first; the last 50 are used.
[[nodiscard]] Prior prior_from_days(std::span<const double> log_volumes);

/// Only the average volume is known.
[[nodiscard]] Prior prior_from_average(double average);

/// Level of a shortened session against a full one, in ln: for the usual 210 minutes of 390, in proportion between. In
/// New York it hangs on the month: -0.55 before Independence Day, -0.75 after Thanksgiving, -1.0 before Christmas; -0.80
/// elsewhere.
[[nodiscard]] double half_day_level(double session_minutes, unsigned month);

/// The same with what this symbol's own half days were above it: the mean of the newest ten (at the most), as sixteen
/// more days of 0 would have it. Own levels tell little: with less damping they do harm.
[[nodiscard]] double own_half_day_level(double usual, std::span<const double> above);
constexpr double kHalfDayScale = 1.2;

/// Standard deviation of the last 20 daily log returns; 0 with fewer than ten of them. Returns that look like a split are
/// left out.
[[nodiscard]] double daily_deviation(std::span<const double> closes);

/// Splits that happen, as new:old; the price is divided by the ratio, or multiplied at a reverse split.
struct SplitRatio {
  double ratio;
  const char* name;
};
inline constexpr std::array<SplitRatio, 14> kSplitRatios{{{1.5, "3:2"},
                                                          {2, "2:1"},
                                                          {3, "3:1"},
                                                          {4, "4:1"},
                                                          {5, "5:1"},
                                                          {6, "6:1"},
                                                          {7, "7:1"},
                                                          {8, "8:1"},
                                                          {10, "10:1"},
                                                          {15, "15:1"},
                                                          {20, "20:1"},
                                                          {25, "25:1"},
                                                          {30, "30:1"},
                                                          {50, "50:1"}}};

/// New shares for an old one, where today's open stands to the close before as in a split (2, 3 ... for one, or the
/// reverse); 1 otherwise.
[[nodiscard]] double split_ratio(double open, double previous_close);

}  // namespace brimwatch
