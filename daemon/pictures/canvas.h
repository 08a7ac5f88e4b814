#pragma once
// What a picture is made of: strokes, in the order in which they are drawn. Pure: a list of them is the picture, whether
// it becomes PNG bytes or SVG text (surface.h); where its words and lines lie can be asked of it. Units are the picture's
// own pixels, y downwards.
#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace brimwatch {

struct Colour {
  double red = 0, green = 0, blue = 0, alpha = 1;
  [[nodiscard]] Colour faded(double to) const { return {red, green, blue, to}; }
  bool operator==(const Colour&) const = default;
};

/// 0xRRGGBB
[[nodiscard]] constexpr Colour colour(std::uint32_t rgb) {
  return {(rgb >> 16 & 255) / 255.0, (rgb >> 8 & 255) / 255.0, (rgb & 255) / 255.0, 1};
}

struct Spot {
  double x = 0, y = 0;
};

struct Box {
  double left = 0, top = 0, right = 0, bottom = 0;

  [[nodiscard]] bool meets(const Box& other) const {
    return left < other.right && other.left < right && top < other.bottom && other.top < bottom;
  }
  [[nodiscard]] bool holds(const Box& other) const {
    return left <= other.left && other.right <= right && top <= other.top && other.bottom <= bottom;
  }
};

enum class Dash : std::uint8_t { solid, dashed, dotted };
enum class Align : std::uint8_t { left, middle, right };

struct GroundStroke {
  Colour colour;
};
struct LineStroke {
  std::vector<Spot> spots;
  Colour colour;
  double width = 1;
  Dash dash = Dash::solid;
};
struct ShapeStroke {
  std::vector<Spot> corners;
  Colour colour;
};
struct DotStroke {
  Spot centre;
  double radius = 0;
  Colour fill, rim;
};
struct WordsStroke {
  Spot at;  ///< left end, middle or right end of the base line
  std::string words;
  Colour colour;
  double size = 0;
  Align align = Align::left;
  bool bold = false;
  Colour rim{0, 0, 0, 0};  ///< round the letters; alpha 0: none
};
struct ClipStroke {
  Box box;  ///< what follows is cut off outside it, until UnclipStroke
};
struct UnclipStroke {};
using Stroke = std::variant<GroundStroke, LineStroke, ShapeStroke, DotStroke, WordsStroke, ClipStroke, UnclipStroke>;

class Canvas {
 public:
  void fill_all(Colour colour) { strokes_.emplace_back(GroundStroke{colour}); }
  void line(std::vector<Spot> spots, Colour colour, double width, Dash dash = Dash::solid);
  void shape(std::vector<Spot> corners, Colour colour);
  void box(Spot corner, double width, double height, Colour colour);
  void dot(Spot centre, double radius, Colour fill, Colour rim);
  /// `at` is the left end, the middle or the right end of the base line.
  void text(Spot at, const std::string& words, Colour colour, double size, Align align = Align::left, bool bold = false);
  /// The same with a rim of the ground's colour, so that it can be read across lines.
  void text_over(Spot at, const std::string& words, Colour colour, Colour ground, double size, Align align);
  [[nodiscard]] static double text_width(const std::string& words, double size, bool bold = false);
  /// Strokes outside the box are cut off until unclip().
  void clip(Spot corner, double width, double height);
  void unclip() { strokes_.emplace_back(UnclipStroke{}); }

  [[nodiscard]] const std::vector<Stroke>& strokes() const { return strokes_; }

 private:
  std::vector<Stroke> strokes_;
};

/// Where words lie, with their ascenders and descenders.
[[nodiscard]] Box box_of(const WordsStroke& words);

}  // namespace brimwatch
