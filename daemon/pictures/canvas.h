#pragma once
// A drawing surface: the few strokes that the picture needs, over cairo. Units are the picture's own pixels.
#include <cstdint>
#include <string>
#include <vector>

typedef struct _cairo cairo_t;

namespace brimwatch {

struct Colour {
  double red = 0, green = 0, blue = 0, alpha = 1;
  [[nodiscard]] Colour faded(double to) const { return {red, green, blue, to}; }
};

/// 0xRRGGBB
[[nodiscard]] constexpr Colour colour(std::uint32_t rgb) {
  return {(rgb >> 16 & 255) / 255.0, (rgb >> 8 & 255) / 255.0, (rgb & 255) / 255.0, 1};
}

struct Spot {
  double x = 0, y = 0;
};

enum class Dash : std::uint8_t { solid, dashed, dotted };
enum class Align : std::uint8_t { left, middle, right };

class Canvas {
 public:
  explicit Canvas(cairo_t* cairo) : cairo_(cairo) {}

  void fill_all(Colour colour);
  void line(const std::vector<Spot>& spots, Colour colour, double width, Dash dash = Dash::solid);
  void shape(const std::vector<Spot>& corners, Colour colour);
  void box(Spot corner, double width, double height, Colour colour);
  void dot(Spot centre, double radius, Colour fill, Colour rim);
  /// `at` is the left end, the middle or the right end of the base line.
  void text(Spot at, const std::string& words, Colour colour, double size, Align align = Align::left, bool bold = false);
  /// The same with a rim of the ground's colour, so that it can be read across lines.
  void text_over(Spot at, const std::string& words, Colour colour, Colour ground, double size, Align align);
  [[nodiscard]] double text_width(const std::string& words, double size, bool bold = false);
  /// Strokes outside the box are cut off until unclip().
  void clip(Spot corner, double width, double height);
  void unclip();

 private:
  void trace(const std::vector<Spot>& spots);
  void set(Colour colour);
  void start_text(Spot at, const std::string& words, double size, Align align, bool bold);
  void font(double size, bool bold);
  cairo_t* cairo_;
};

}  // namespace brimwatch
