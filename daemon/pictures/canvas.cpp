#include "pictures/canvas.h"

#include "pictures/letter_widths.h"

namespace brimwatch {

void Canvas::line(std::vector<Spot> spots, Colour colour, double width, Dash dash) {
  if (spots.size() > 1) strokes_.emplace_back(LineStroke{std::move(spots), colour, width, dash});
}

void Canvas::shape(std::vector<Spot> corners, Colour colour) {
  if (corners.size() > 2) strokes_.emplace_back(ShapeStroke{std::move(corners), colour});
}

void Canvas::box(Spot corner, double width, double height, Colour colour) {
  const double right = corner.x + width, bottom = corner.y + height;
  shape({corner, {right, corner.y}, {right, bottom}, {corner.x, bottom}}, colour);
}

void Canvas::dot(Spot centre, double radius, Colour fill, Colour rim) {
  strokes_.emplace_back(DotStroke{centre, radius, fill, rim});
}

void Canvas::text(Spot at, const std::string& words, Colour colour, double size, Align align, bool bold) {
  if (!words.empty()) strokes_.emplace_back(WordsStroke{at, words, colour, size, align, bold});
}

void Canvas::text_over(Spot at, const std::string& words, Colour colour, Colour ground, double size, Align align) {
  if (!words.empty()) strokes_.emplace_back(WordsStroke{at, words, colour, size, align, false, ground.faded(0.85)});
}

double Canvas::text_width(const std::string& words, double size, bool bold) { return width_of(words, size, bold); }

void Canvas::clip(Spot corner, double width, double height) {
  strokes_.emplace_back(ClipStroke{{corner.x, corner.y, corner.x + width, corner.y + height}});
}

Box box_of(const WordsStroke& words) {
  constexpr double kAscent = 0.76, kDescent = 0.24;  // of DejaVu Sans: capitals and tails
  const double width = width_of(words.words, words.size, words.bold);
  const double left = words.at.x - (words.align == Align::left ? 0 : words.align == Align::middle ? width / 2 : width);
  return {left, words.at.y - kAscent * words.size, left + width, words.at.y + kDescent * words.size};
}

}  // namespace brimwatch
