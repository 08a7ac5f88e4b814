#pragma once
// A reliability diagram: odds said on the x axis, the share that came true on the y axis; calibrated on the diagonal.
// Pure.
#include <cstdint>
#include <string>
#include <vector>

#include "pictures/palette.h"

namespace brimwatch {

/// One group of odds; all from 0 to 1.
struct OddsPoint {
  double said = 0, share = 0, low = 0, high = 1;  ///< mean said, part that came true, its interval
  int count = 0;
};

constexpr int kOddsSize = 320;

[[nodiscard]] std::vector<std::uint8_t> odds_png(const std::vector<OddsPoint>& points,
                                                 PictureStyle style = PictureStyle::light);
[[nodiscard]] std::string odds_svg(const std::vector<OddsPoint>& points, PictureStyle style = PictureStyle::light);

}  // namespace brimwatch
