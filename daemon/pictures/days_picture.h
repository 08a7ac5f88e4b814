#pragma once
// The days around a crossing: price as a band from low to high with the close as a line, pivot, buy range and loss limit,
// the crossing marked; volume against normal below. Pure: the same data gives the same picture.
#include <cstdint>
#include <string>
#include <vector>

#include "core/text/timestamp.h"
#include "pictures/palette.h"

namespace brimwatch {

/// Prices and shares are plain doubles: they are drawn, never compared.
struct DaysPicture {
  struct One {
    Date day;
    double low = 0, high = 0, close = 0, volume = 0;
  };
  std::string title;                                ///< "KLVN, 2026-11-25"
  std::vector<One> days;                            ///< ascending; fewer than two: nothing but the title is drawn
  std::size_t marked = 0;                           ///< index of the crossing's day; past the end: its day has no bar yet
  double marked_price = 0;                          ///< 0: no mark
  double pivot = 0, range_top = 0, loss_limit = 0;  ///< 0: not drawn
  double normal = 0;                                ///< a normal day's volume, shares; 0: not known
};

constexpr int kDaysWidth = 640, kDaysHeight = 320;

[[nodiscard]] std::vector<std::uint8_t> days_png(const DaysPicture& picture, PictureStyle style = PictureStyle::light);
[[nodiscard]] std::string days_svg(const DaysPicture& picture, PictureStyle style = PictureStyle::light);

}  // namespace brimwatch
