#pragma once
// How wide words are in DejaVu Sans, the letters of all pictures: from the font's own table, so that a picture is laid
// out without any font at hand. Source: the fonts' hmtx tables, Debian's fonts-dejavu-core; the test asks cairo. Pure.
#include <string_view>

namespace brimwatch {

/// Pixels, of valid UTF-8 at `size` pixels. Letters beyond ASCII count as an em, the widest there are.
[[nodiscard]] double width_of(std::string_view words, double size, bool bold);

}  // namespace brimwatch
