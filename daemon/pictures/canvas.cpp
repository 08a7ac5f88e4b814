#include "pictures/canvas.h"

#include "adapters/libraries/cairo.h"

namespace brimwatch {

void Canvas::set(Colour colour) { cairo().set_source_rgba(cairo_, colour.red, colour.green, colour.blue, colour.alpha); }

void Canvas::font(double size, bool bold) {
  cairo().select_font_face(cairo_, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo().set_font_size(cairo_, size);
}

void Canvas::trace(const std::vector<Spot>& spots) {
  for (const Spot& spot : spots) cairo().line_to(cairo_, spot.x, spot.y);
}

void Canvas::fill_all(Colour colour) {
  set(colour);
  cairo().paint(cairo_);
}

void Canvas::line(const std::vector<Spot>& spots, Colour colour, double width, Dash dash) {
  const double dashed[] = {8, 5}, dotted[] = {1, 5};
  if (dash == Dash::solid) cairo().set_dash(cairo_, nullptr, 0, 0);
  else cairo().set_dash(cairo_, dash == Dash::dashed ? dashed : dotted, 2, 0);
  cairo().set_line_cap(cairo_, CAIRO_LINE_CAP_ROUND);
  cairo().set_line_join(cairo_, CAIRO_LINE_JOIN_ROUND);
  cairo().set_line_width(cairo_, width);
  set(colour);
  cairo().new_path(cairo_);
  trace(spots);
  cairo().stroke(cairo_);
}

void Canvas::shape(const std::vector<Spot>& corners, Colour colour) {
  set(colour);
  cairo().new_path(cairo_);
  trace(corners);
  cairo().close_path(cairo_);
  cairo().fill(cairo_);
}

void Canvas::box(Spot corner, double width, double height, Colour colour) {
  set(colour);
  cairo().rectangle(cairo_, corner.x, corner.y, width, height);
  cairo().fill(cairo_);
}

void Canvas::dot(Spot centre, double radius, Colour fill, Colour rim) {
  cairo().new_path(cairo_);
  cairo().arc(cairo_, centre.x, centre.y, radius, 0, 2 * 3.14159265358979);
  set(fill);
  cairo().fill_preserve(cairo_);
  cairo().set_dash(cairo_, nullptr, 0, 0);
  cairo().set_line_width(cairo_, 2);
  set(rim);
  cairo().stroke(cairo_);
}

double Canvas::text_width(const std::string& words, double size, bool bold) {
  font(size, bold);
  cairo_text_extents_t extents;
  cairo().text_extents(cairo_, words.c_str(), &extents);
  return extents.x_advance;
}

void Canvas::start_text(Spot at, const std::string& words, double size, Align align, bool bold) {
  const double width = align == Align::left ? 0 : text_width(words, size, bold);
  font(size, bold);
  cairo().move_to(cairo_, at.x - (align == Align::middle ? width / 2 : width), at.y);
}

void Canvas::text(Spot at, const std::string& words, Colour colour, double size, Align align, bool bold) {
  start_text(at, words, size, align, bold);
  set(colour);
  cairo().show_text(cairo_, words.c_str());
  cairo().new_path(cairo_);
}

void Canvas::text_over(Spot at, const std::string& words, Colour colour, Colour ground, double size, Align align) {
  cairo().new_path(cairo_);
  start_text(at, words, size, align, false);
  cairo().text_path(cairo_, words.c_str());
  cairo().set_dash(cairo_, nullptr, 0, 0);
  cairo().set_line_width(cairo_, 4);
  set(ground.faded(0.85));
  cairo().stroke_preserve(cairo_);
  set(colour);
  cairo().fill(cairo_);
}

void Canvas::clip(Spot corner, double width, double height) {
  cairo().save(cairo_);
  cairo().rectangle(cairo_, corner.x, corner.y, width, height);
  cairo().clip(cairo_);
}

void Canvas::unclip() { cairo().restore(cairo_); }

}  // namespace brimwatch

#ifdef __SANITIZE_ADDRESS__
/// The font library keeps a few patterns until the program ends; the leak check of a test build is not to count them.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_options();
extern "C" const char* __lsan_default_options() { return "print_suppressions=0"; }
extern "C" const char* __lsan_default_suppressions() { return "leak:libfontconfig\n"; }
#endif
