// Strokes as SVG 1.1 text.
#include <fmt/core.h>

#include <array>
#include <utility>

#include "core/text/text.h"
#include "pictures/surface.h"

namespace brimwatch {
namespace {

const char* dashes(Dash dash) {
  if (dash == Dash::solid) return "";
  return dash == Dash::dashed ? " stroke-dasharray=\"8 5\"" : " stroke-dasharray=\"0.1 5\"";
}

std::string painted(const char* key, const Colour& colour) {
  std::string out = fmt::format(" {}=\"{}\"", key, colour.alpha > 0 ? css(colour) : "none");
  if (colour.alpha > 0 && colour.alpha < 1) out += fmt::format(" {}-opacity=\"{:.2f}\"", key, colour.alpha);
  return out;
}

std::string points_of(const std::vector<Spot>& spots) {
  std::string out = " points=\"";
  for (const Spot& spot : spots) out += fmt::format("{:.1f},{:.1f} ", spot.x, spot.y);
  out.back() = '"';
  return out;
}

struct SvgWriter {
  std::string out;

  void operator()(const GroundStroke& one) {
    out += "<rect width=\"100%\" height=\"400%\"" + painted("fill", one.colour) + "/>\n";
  }
  void operator()(const LineStroke& one) {
    out += "<polyline fill=\"none\"" + painted("stroke", one.colour) + fmt::format(" stroke-width=\"{:g}\"", one.width) +
           dashes(one.dash) + " stroke-linecap=\"round\" stroke-linejoin=\"round\"" + points_of(one.spots) + "/>\n";
  }
  void operator()(const ShapeStroke& one) {
    out += "<polygon" + painted("fill", one.colour) + points_of(one.corners) + "/>\n";
  }
  void operator()(const DotStroke& one) {
    out += fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:g}\"", one.centre.x, one.centre.y, one.radius) +
           painted("fill", one.fill) + painted("stroke", one.rim) + " stroke-width=\"2\"/>\n";
  }
  void operator()(const WordsStroke& one) {
    static constexpr std::array<const char*, 3> kAnchors = {"start", "middle", "end"};
    out += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" font-size=\"{:g}\" text-anchor=\"{}\"", one.at.x, one.at.y,
                       one.size, kAnchors[static_cast<std::size_t>(one.align)]) +
           painted("fill", one.colour) + (one.bold ? " font-weight=\"bold\"" : "");
    if (one.rim.alpha > 0) out += painted("stroke", one.rim) + " stroke-width=\"4\" paint-order=\"stroke\"";
    out += ">" + escape_markup(one.words) + "</text>\n";
  }
  /// A picture within the picture shows nothing outside itself.
  void operator()(const ClipStroke& one) {
    const Box& b = one.box;
    const double wide = b.right - b.left, high = b.bottom - b.top;
    out += fmt::format(
        "<svg x=\"{0:.1f}\" y=\"{1:.1f}\" width=\"{2:.1f}\" height=\"{3:.1f}\" viewBox=\"{0:.1f} {1:.1f} {2:.1f} "
        "{3:.1f}\">\n",
        b.left, b.top, wide, high);
  }
  void operator()(const UnclipStroke&) { out += "</svg>\n"; }
};

/// Each colour of the light palette, turned.
std::string style_for_dark() {
  const Palette light = palette(PictureStyle::light), dark = palette(PictureStyle::dark);
  std::string rules;
  for (const auto& [from, to] :
       {std::pair{light.ground, dark.ground}, std::pair{light.ink, dark.ink}, std::pair{light.quiet, dark.quiet},
        std::pair{light.grid, dark.grid}, std::pair{light.pivot, dark.pivot}, std::pair{light.loss, dark.loss},
        std::pair{light.volume, dark.volume}, std::pair{light.usual, dark.usual}}) {
    for (const char* key : {"fill", "stroke"}) rules += fmt::format("[{0}=\"{1}\"]{{{0}:{2}}}", key, css(from), css(to));
  }
  return "<style>@media (prefers-color-scheme: dark){" + rules + "}</style>\n";
}

std::string head_of(int width, int height, const SvgExtras& extras) {
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0} {1}\" width=\"{0}\" height=\"{1}\" "
      "font-family=\"DejaVu Sans, Verdana, sans-serif\" role=\"img\">\n",
      width, height);
  if (extras.both) out += style_for_dark();
  if (!extras.title.empty()) out += "<title>" + escape_markup(extras.title) + "</title>\n";
  const Box& b = extras.beside;
  if (b.right <= b.left) return out;
  return out + fmt::format("<view id=\"beside\" viewBox=\"{:.0f} {:.0f} {:.0f} {:.0f}\"/>\n", b.left, b.top,
                           b.right - b.left, b.bottom - b.top);
}

}  // namespace

std::string svg_of(int width, int height, const std::function<void(Canvas&)>& draw, const SvgExtras& extras) {
  Canvas canvas;
  draw(canvas);
  SvgWriter writer{head_of(width, height, extras)};
  for (const Stroke& stroke : canvas.strokes()) std::visit(writer, stroke);
  return writer.out + "</svg>\n";
}

}  // namespace brimwatch
