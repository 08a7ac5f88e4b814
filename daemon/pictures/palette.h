#pragma once
// The one palette of all pictures, by what a colour means: Okabe and Ito (Color Universal Design, 2008), and inks that go
// with a light or a dark ground. The page (config/page/page.css), the mails and the evening's pages use the same.
#include <string>

#include "pictures/canvas.h"

namespace brimwatch {

enum class PictureStyle : std::uint8_t { light, dark };

struct Palette {
  Colour ground, ink, quiet, grid;
  Colour pivot;   ///< the pivot, the range, and what a notice was told of: blue
  Colour band;    ///< the range's own area, and a stock's band from low to high
  Colour loss;    ///< the loss limit, and what went wrong: vermilion
  Colour volume;  ///< volume and what is said of it, the odds too: bluish green
  Colour usual;   ///< what is usual: grey
};

[[nodiscard]] Palette palette(PictureStyle style);

/// "#0072b2", for markup.
[[nodiscard]] std::string css(const Colour& colour);

/// A price as everywhere else (core/price.h), from a value that may have the noise of a 32-bit float.
[[nodiscard]] std::string price_text(double price);

}  // namespace brimwatch
