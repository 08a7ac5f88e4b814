#include "pictures/odds_picture.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>

#include "pictures/scale.h"
#include "pictures/surface.h"

namespace brimwatch {
namespace {

constexpr double kFrom = 44, kTo = kOddsSize - 24;

void draw_odds(Canvas& canvas, const std::vector<OddsPoint>& points, const Palette& c) {
  const Scale x{0, 1, kFrom, kTo}, y{0, 1, kTo - 10, kFrom - 10};
  canvas.fill_all(c.ground);
  canvas.line({{x(0), y(0)}, {x(1), y(0)}, {x(1), y(1)}, {x(0), y(1)}, {x(0), y(0)}}, c.quiet, 1);
  canvas.line({{x(0), y(0)}, {x(1), y(1)}}, c.quiet, 1, Dash::dashed);
  for (const double p : {0.0, 0.5, 1.0}) {
    char text[8];
    std::snprintf(text, sizeof text, "%.1f", p);
    canvas.text({x(p), y(0) + 16}, text, c.quiet, 13, Align::middle);
    canvas.text({x(0) - 6, y(p) + 5}, text, c.quiet, 13, Align::right);
  }
  canvas.text({(x(0) + x(1)) / 2, y(0) + 32}, "odds said", c.ink, 13, Align::middle);
  canvas.text({x(0), y(1) - 8}, "came true", c.ink, 13);
  for (const OddsPoint& one : points) {
    if (one.count == 0) continue;
    canvas.line({{x(one.said), y(one.low)}, {x(one.said), y(one.high)}}, c.volume, 2);
    canvas.dot({x(one.said), y(one.share)}, 3 + std::min(6.0, std::sqrt(one.count)), c.volume, c.volume);
  }
}

}  // namespace

std::vector<std::uint8_t> odds_png(const std::vector<OddsPoint>& points, PictureStyle style) {
  return png_of(kOddsSize, kOddsSize, [&](Canvas& canvas) { draw_odds(canvas, points, palette(style)); });
}

std::string odds_svg(const std::vector<OddsPoint>& points, PictureStyle style) {
  return svg_of(kOddsSize, kOddsSize, [&](Canvas& canvas) { draw_odds(canvas, points, palette(style)); });
}

}  // namespace brimwatch
