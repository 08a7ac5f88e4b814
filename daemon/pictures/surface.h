#pragma once
// From strokes to a file: PNG bytes or SVG text.
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "pictures/palette.h"

namespace brimwatch {

/// Empty only when there is no memory for it, or cairo is not on this machine.
[[nodiscard]] std::vector<std::uint8_t> png_of(int width, int height, const std::function<void(Canvas&)>& draw);

/// What an SVG has beside its strokes.
struct SvgExtras {
  std::string title{};  ///< for who hears pictures; empty: none
  /// True: drawn in the light palette, it turns to the dark one where the reader's screen is dark. A viewer that knows no
  /// style sheets shows it as on paper.
  bool both = false;
  /// Another part of the drawing, shown by IMAGE#beside; empty (no width): none. May lie outside width x height.
  Box beside{};
};
[[nodiscard]] std::string svg_of(int width, int height, const std::function<void(Canvas&)>& draw,
                                 const SvgExtras& extras = {});

}  // namespace brimwatch
