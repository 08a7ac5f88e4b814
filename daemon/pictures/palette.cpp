#include "pictures/palette.h"

#include <cmath>
#include <cstdio>

#include "core/daily.h"

namespace brimwatch {

Palette palette(PictureStyle style) {
  switch (style) {
    case PictureStyle::light:
      return {colour(0xFFFFFF), colour(0x1A1A1A), colour(0x595959),
              colour(0xDDDDDD), colour(0x0072B2), colour(0x56B4E9).faded(0.22),
              colour(0xD55E00), colour(0x009E73), colour(0x6E6E6E)};
    case PictureStyle::dark:
      return {colour(0x121212), colour(0xECECEC), colour(0xB0B0B0),
              colour(0x3A3A3A), colour(0x56B4E9), colour(0x56B4E9).faded(0.18),
              colour(0xE69F00), colour(0x20B890), colour(0xA0A0A0)};
  }
  return {};
}

std::string css(const Colour& colour) {
  const auto part = [](double value) { return static_cast<unsigned>(std::lround(255 * value)); };
  char text[8];
  std::snprintf(text, sizeof text, "#%02x%02x%02x", part(colour.red), part(colour.green), part(colour.blue));
  return text;
}

std::string price_text(double price) {
  constexpr double kMost = 9e12;  // of which millionths fit
  if (!(std::abs(price) < kMost)) return "?";
  return to_string(without_float_noise(Price{std::llround(price * kMicrosPerUnit)}));
}

}  // namespace brimwatch
