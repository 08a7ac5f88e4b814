#pragma once
// What the day's volume is expected to be before the open, from the days before it. Pure: no dates, no calendar.
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

/// New shares for an old one, where today's open stands to the close before as in a split (2, 3 ... for one, or the
/// reverse); 1 otherwise.
[[nodiscard]] double split_ratio(double open, double previous_close);

}  // namespace brimwatch
