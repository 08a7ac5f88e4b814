#pragma once
// An invented day: KLVN climbs through 48.35 on growing volume.
#include <cmath>

#include "pictures/picture.h"

namespace brimwatch::testing_support {

inline DayPicture sample_picture(double now = 132) {
  DayPicture day;
  day.symbol = "KLVN";
  day.day = Date::of(2026, 11, 25);
  day.now_minute = now;
  day.pivot = 48.35, day.range_top = 50.76, day.loss_limit = 44.482;
  day.normal = 1'290'000;
  for (double m = 0; m <= 390; m += 15) {
    const double t = m / 390;
    day.usual.push_back({m, 0.9 * (1.6 * t - 1.7 * t * t + 1.1 * t * t * t) + (m == 390 ? 0.1 : 0)});
  }
  for (double m = 0; m <= now; m += 1) {
    day.price.push_back(
        {m, std::round(100 * (47.2 + 0.014 * m + 0.25 * std::sin(m / 7) + 0.12 * std::sin(m / 2.3))) / 100});
    day.volume.push_back({m, 5200 * m + 18 * m * m});
  }
  const double so_far = day.volume.back().value;
  day.projected = so_far * 2.3, day.low = so_far * 1.85, day.high = so_far * 2.9;
  day.judgement = "odds of +40 %: 0.94, heavy";
  day.marks = {{72, 48.41, "crossed 10:42"}, {110, 48.9, "volume arrived 11:20"}};
  return day;
}

}  // namespace brimwatch::testing_support
