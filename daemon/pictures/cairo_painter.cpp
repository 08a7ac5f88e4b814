#include "pictures/cairo_painter.h"

#include "adapters/libraries/cairo.h"

namespace brimwatch {
namespace {

struct Painter {
  cairo_t* on;

  void set(const Colour& colour) const {
    cairo().set_source_rgba(on, colour.red, colour.green, colour.blue, colour.alpha);
  }
  void trace(const std::vector<Spot>& spots) const {
    cairo().new_path(on);
    for (const Spot& spot : spots) cairo().line_to(on, spot.x, spot.y);
  }
  void set_dash(Dash dash) const {
    const double dashed[] = {8, 5}, dotted[] = {1, 5};
    if (dash == Dash::solid) cairo().set_dash(on, nullptr, 0, 0);
    else cairo().set_dash(on, dash == Dash::dashed ? dashed : dotted, 2, 0);
  }

  void operator()(const GroundStroke& one) const {
    set(one.colour);
    cairo().paint(on);
  }
  void operator()(const LineStroke& one) const {
    set_dash(one.dash);
    cairo().set_line_cap(on, CAIRO_LINE_CAP_ROUND);
    cairo().set_line_join(on, CAIRO_LINE_JOIN_ROUND);
    cairo().set_line_width(on, one.width);
    set(one.colour);
    trace(one.spots);
    cairo().stroke(on);
  }
  void operator()(const ShapeStroke& one) const {
    set(one.colour);
    trace(one.corners);
    cairo().close_path(on);
    cairo().fill(on);
  }
  void operator()(const DotStroke& one) const {
    cairo().new_path(on);
    cairo().arc(on, one.centre.x, one.centre.y, one.radius, 0, 2 * 3.14159265358979);
    set(one.fill);
    cairo().fill_preserve(on);
    set_dash(Dash::solid);
    cairo().set_line_width(on, 2);
    set(one.rim);
    cairo().stroke(on);
  }
  void operator()(const WordsStroke& one) const {
    cairo().select_font_face(on, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                             one.bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo().set_font_size(on, one.size);
    cairo_text_extents_t extents{};
    if (one.align != Align::left) cairo().text_extents(on, one.words.c_str(), &extents);
    cairo().new_path(on);
    cairo().move_to(on, one.at.x - (one.align == Align::middle ? extents.x_advance / 2 : extents.x_advance), one.at.y);
    if (one.rim.alpha > 0) return write_with_rim(one);
    set(one.colour);
    cairo().show_text(on, one.words.c_str());
    cairo().new_path(on);
  }
  void write_with_rim(const WordsStroke& one) const {
    cairo().text_path(on, one.words.c_str());
    set_dash(Dash::solid);
    cairo().set_line_width(on, 4);
    set(one.rim);
    cairo().stroke_preserve(on);
    set(one.colour);
    cairo().fill(on);
  }
  void operator()(const ClipStroke& one) const {
    cairo().save(on);
    cairo().rectangle(on, one.box.left, one.box.top, one.box.right - one.box.left, one.box.bottom - one.box.top);
    cairo().clip(on);
  }
  void operator()(const UnclipStroke&) const { cairo().restore(on); }
};

}  // namespace

void paint(const Canvas& canvas, cairo_t* on) {
  const Painter painter{on};
  for (const Stroke& stroke : canvas.strokes()) std::visit(painter, stroke);
}

}  // namespace brimwatch

#ifdef __SANITIZE_ADDRESS__
/// The font library keeps a few patterns until the program ends; the leak check of a test build is not to count them.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_options();
extern "C" const char* __lsan_default_options() { return "print_suppressions=0"; }
extern "C" const char* __lsan_default_suppressions() { return "leak:libfontconfig\n"; }
#endif
