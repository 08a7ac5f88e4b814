#pragma once
// A day in a picture of the size of an icon, drawn for that size: how far from the pivot in figures, the price against
// pivot and buy range, and a bar that is full at the needed volume. No other words: a notice has them beside it. Pure.
#include <cstdint>
#include <vector>

#include "pictures/picture.h"

namespace brimwatch {

constexpr int kSmallSide = 128;  ///< pixels, both ways

/// PNG bytes on a ground of its own, so that it stands on a light and on a dark screen alike.
[[nodiscard]] std::vector<std::uint8_t> small_picture_png(const DayPicture& day,
                                                          PictureStyle style = PictureStyle::light);

}  // namespace brimwatch
