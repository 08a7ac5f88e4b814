#pragma once
// The few strokes of a picture as SVG text, in one ink. Pure.
#include <string>
#include <string_view>

namespace brimwatch::svg {

constexpr const char* kInk = "#222222";
constexpr const char* kFaint = "#d9d9d9";
constexpr const char* kPaper = "#ffffff";

struct XY {
  double x = 0, y = 0;
};

enum class Anchor { start, middle, end };
enum class Fill { filled, hollow };
enum class Stroke { solid, dashed, faint };

/// One ink on one ground, the other way round where the reader's screen is dark. A viewer that knows no style sheets
/// shows the picture as on paper.
[[nodiscard]] std::string style_for_dark();

[[nodiscard]] std::string text(XY at, int size, Anchor anchor, std::string_view words);
[[nodiscard]] std::string line(XY from, XY to, double width, Stroke stroke = Stroke::solid);
/// `spots` as "x,y x,y ".
[[nodiscard]] std::string path(const std::string& spots, double width, Stroke stroke = Stroke::solid);
[[nodiscard]] std::string spot(XY at);
[[nodiscard]] std::string box(XY corner, double width, double height, Fill fill);
[[nodiscard]] std::string ring(XY centre, double radius);
/// A square bracket that opens to the left, from `top` to `bottom`, with its back at x + `depth`.
[[nodiscard]] std::string bracket(double x, double top, double bottom, double depth);
/// How wide a text of that size is, about: to keep words from lying over each other.
[[nodiscard]] double width_of(std::string_view words, int size);

}  // namespace brimwatch::svg
