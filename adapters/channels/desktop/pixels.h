#pragma once
// A PNG picture as plain pixels, for servers that take no files.
#include <cstdint>
#include <optional>
#include <vector>

namespace brimwatch {

struct Pixels {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgba;  ///< row by row, 4 bytes a pixel, alpha not premultiplied
};

/// Empty when it is no PNG that can be read, or larger than 4096 pixels a side.
[[nodiscard]] std::optional<Pixels> pixels_of(const std::vector<std::uint8_t>& png);

}  // namespace brimwatch
