#include "weekend/svg.h"

#include <fmt/core.h>

#include <array>

#include "core/text/text.h"

namespace brimwatch::svg {
namespace {

std::string stroke_of(double width, Stroke stroke) {
  const char* colour = stroke == Stroke::faint ? kFaint : kInk;
  const char* dash = stroke == Stroke::dashed ? " stroke-dasharray=\"5 3\"" : "";
  return fmt::format("stroke=\"{}\" stroke-width=\"{:.1f}\"{}", colour, width, dash);
}

}  // namespace

std::string style_for_dark() {
  const auto rule = [](const char* key, std::string_view from, const char* to) {
    return std::string("[") + key + "=\"" + std::string(from) + "\"] { " + key + ": " + to + " } ";
  };
  return "<style>@media (prefers-color-scheme: dark) { " + rule("fill", "white", "#1b1b1a") +
         rule("fill", kPaper, "#1b1b1a") + rule("fill", kInk, "#f2f0ea") + rule("stroke", kInk, "#f2f0ea") +
         rule("stroke", kFaint, "#45423b") + "}</style>\n";
}

std::string text(XY at, int size, Anchor anchor, std::string_view words) {
  static constexpr std::array<const char*, 3> kAnchors = {"start", "middle", "end"};
  return fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" font-size=\"{}\" fill=\"{}\" text-anchor=\"{}\">", at.x, at.y, size,
                     kInk, kAnchors[static_cast<std::size_t>(anchor)]) +
         escape_markup(words) + "</text>\n";
}

std::string line(XY from, XY to, double width, Stroke stroke) {
  return fmt::format("<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\" ", from.x, from.y, to.x, to.y) +
         stroke_of(width, stroke) + "/>\n";
}

std::string path(const std::string& spots, double width, Stroke stroke) {
  return "<polyline fill=\"none\" " + stroke_of(width, stroke) + " points=\"" + spots + "\"/>\n";
}

std::string spot(XY at) { return fmt::format("{:.1f},{:.1f} ", at.x, at.y); }

std::string box(XY corner, double width, double height, Fill fill) {
  return fmt::format(
      "<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"{}\" stroke=\"{}\" "
      "stroke-width=\"0.6\"/>\n",
      corner.x, corner.y, width, height, fill == Fill::filled ? kInk : kPaper, kInk);
}

std::string ring(XY centre, double radius) {
  return fmt::format(
      "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{:.1f}\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.6\"/>\n", centre.x,
      centre.y, radius, kInk);
}

std::string bracket(double x, double top, double bottom, double depth) {
  return path(spot({x, top}) + spot({x + depth, top}) + spot({x + depth, bottom}) + spot({x, bottom}), 1.6);
}

double width_of(std::string_view words, int size) { return 0.55 * size * static_cast<double>(words.size()); }

}  // namespace brimwatch::svg
