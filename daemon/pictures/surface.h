#pragma once
// From strokes to a file: PNG bytes or SVG text.
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "pictures/canvas.h"

namespace brimwatch {

/// Empty only when there is no memory for it, or cairo is not on this machine.
[[nodiscard]] std::vector<std::uint8_t> png_of(int width, int height, const std::function<void(Canvas&)>& draw);
[[nodiscard]] std::string svg_of(int width, int height, const std::function<void(Canvas&)>& draw);

}  // namespace brimwatch
