#include "pictures/small_picture.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "core/wording.h"
#include "pictures/scale.h"
#include "pictures/surface.h"

namespace brimwatch {
namespace {

constexpr double kIconSide = kSmallSide, kIconEdge = 8, kIconFigure = 27, kIconTop = 36, kIconFloor = 98,
                 kIconBarTop = 106, kIconBarHigh = 14;

class SmallDrawing {
 public:
  SmallDrawing(Canvas& canvas, const DayPicture& day, PictureStyle style)
      : canvas_(canvas),
        day_(day),
        c_(palette(style)),
        x_{0, std::max(1.0, day.session_minutes), kIconEdge, kIconSide - kIconEdge - 7} {
    double low = day.pivot, high = std::max(day.pivot, day.range_top);
    for (const auto& point : day.price) {
      low = low > 0 ? std::min(low, point.value) : point.value;
      high = std::max(high, point.value);
    }
    const double room = std::max((high - low) * 0.06, high * 0.002 + 1e-9);
    y_ = {low - room, high + room, kIconFloor, kIconTop};
  }

  void all() {
    canvas_.fill_all(c_.ground);
    figure();
    weight();
    price();
    volume();
    frame();
  }

 private:
  void figure() {
    if (day_.price.empty() || day_.pivot <= 0) return;
    const double percent = (day_.price.back().value / day_.pivot - 1) * 100;
    canvas_.text({kIconEdge, kIconFigure}, percent_text(percent, 1), c_.ink, 21, Align::left, true);
  }

  /// Full for heavy, half for unsettled, hollow for light; nothing where there is no judgement.
  void weight() {
    if (day_.weight == Weight::unknown) return;
    const Spot at{kIconSide - kIconEdge - 9, 19};
    const Colour inside = day_.weight == Weight::heavy ? c_.volume : c_.ground;
    canvas_.dot(at, 8, c_.volume, c_.volume);
    if (day_.weight != Weight::heavy) canvas_.dot(at, 5.5, inside, inside);
    if (day_.weight == Weight::unsettled) canvas_.box({at.x - 7, at.y - 7}, 7, 14, c_.volume);
  }

  void price() {
    const double right = kIconSide - kIconEdge, pivot = y_(day_.pivot);
    if (day_.range_top > day_.pivot && day_.pivot > 0)
      canvas_.box({kIconEdge, y_(day_.range_top)}, right - kIconEdge, pivot - y_(day_.range_top), c_.band);
    if (day_.pivot > 0) canvas_.line({{kIconEdge, pivot}, {right, pivot}}, c_.pivot, 4);
    std::vector<Spot> path;
    for (const auto& point : day_.price) path.push_back({x_(point.minute), y_(point.value)});
    canvas_.line(path, c_.ground, 5.5);
    canvas_.line(path, c_.ink, 3);
    if (!path.empty()) here(path.back());
  }

  void here(Spot at) {
    const auto diamond = [&](double size) {
      return std::vector<Spot>{{at.x, at.y - size}, {at.x + size, at.y}, {at.x, at.y + size}, {at.x - size, at.y}};
    };
    canvas_.shape(diamond(9), c_.ground);
    canvas_.shape(diamond(7), c_.ink);
  }

  void volume() {
    const double needed = day_.normal * (1 + day_.needed / 100), wide = kIconSide - 2 * kIconEdge;
    if (needed <= 0 || day_.volume.empty()) return;
    const double filled = wide * std::clamp(day_.volume.back().value / needed, 0.0, 1.0);
    canvas_.box({kIconEdge, kIconBarTop}, wide, kIconBarHigh, c_.volume.faded(0.25));
    canvas_.box({kIconEdge, kIconBarTop}, filled, kIconBarHigh, c_.volume);
    const double usual = kIconEdge + wide * std::min(1.0, day_.normal * usual_share() / needed);
    canvas_.line({{usual, kIconBarTop - 3}, {usual, kIconBarTop + kIconBarHigh + 3}}, c_.ink, 2);
  }

  /// The share of a usual day that has been traded by now.
  [[nodiscard]] double usual_share() const {
    const double now = std::min(day_.now_minute, day_.session_minutes);
    const auto after = std::find_if(day_.usual.begin(), day_.usual.end(), [&](const auto& p) { return p.minute >= now; });
    if (day_.usual.empty()) return now / std::max(1.0, day_.session_minutes);
    if (after == day_.usual.end()) return day_.usual.back().value;
    if (after == day_.usual.begin()) return after->value;
    const auto before = std::prev(after);
    const double part = (now - before->minute) / std::max(1e-9, after->minute - before->minute);
    return before->value + part * (after->value - before->value);
  }

  void frame() {
    canvas_.line({{1, 1}, {kIconSide - 1, 1}, {kIconSide - 1, kIconSide - 1}, {1, kIconSide - 1}, {1, 1}}, c_.quiet, 2);
  }

  Canvas& canvas_;
  const DayPicture& day_;
  Palette c_;
  Scale x_, y_;
};

}  // namespace

std::vector<std::uint8_t> small_picture_png(const DayPicture& day, PictureStyle style) {
  return png_of(kSmallSide, kSmallSide, [&](Canvas& canvas) { SmallDrawing(canvas, day, style).all(); });
}

}  // namespace brimwatch
