#pragma once
// A share of crossings with an interval that knows that crossings of one month come out alike. Pure.
#include <span>
#include <vector>

#include "core/text/timestamp.h"
#include "volume/grading/reliability.h"

namespace brimwatch {

/// How alike the crossings of one month are: the correlation of their outcomes. Measured on 35,023 crossings of plain
/// 50-day highs by 501 large US stocks, 2001-2020.
struct Alike {
  double month = 0;
};
constexpr Alike kVolumeAlike{0.05};  ///< whether the day's volume came; whether it rose 20 % first
constexpr Alike kCloseAlike{0.01};   ///< whether the day closed at or above the pivot
constexpr Alike kFallAlike{0.20};    ///< whether it fell 8 % first; whether following it paid

struct Share {
  int hits = 0, of = 0;
  Interval between;  ///< 95 %: Wilson's score interval of as many crossings as `of` are worth

  [[nodiscard]] double share() const { return of > 0 ? static_cast<double>(hits) / of : 0; }
};

/// One decided crossing.
struct Decided {
  Date day;
  bool hit = false;
};

/// n crossings, k in a month on average, are worth n / (1 + (k - 1) x alike) independent ones (Kish's design effect,
/// Survey Sampling, 1965).
[[nodiscard]] Share share_of(std::span<const Decided> decided, Alike alike);

}  // namespace brimwatch
