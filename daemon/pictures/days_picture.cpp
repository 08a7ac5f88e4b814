#include "pictures/days_picture.h"

#include <algorithm>
#include <cstdio>

#include "core/shares.h"
#include "core/text/text.h"
#include "pictures/scale.h"
#include "pictures/surface.h"

namespace brimwatch {
namespace {

class DaysDrawing {
  static constexpr double kLeft = 14, kRight = 520, kTop = 40, kBottom = 210, kVolumeTop = 228, kVolumeBottom = 290,
                          kSmall = 13;

 public:
  DaysDrawing(Canvas& canvas, const DaysPicture& picture, PictureStyle style)
      : canvas_(canvas), p_(picture), c_(palette(style)) {
    const auto count = static_cast<double>(std::max<std::size_t>(p_.days.size() + (p_.marked >= p_.days.size()), 2));
    x_ = {0, count - 1, kLeft, kRight - 8};
    double low = 1e300, high = 0, most = p_.normal;
    const auto hold = [&](double price) {
      if (price > 0) low = std::min(low, price), high = std::max(high, price);
    };
    for (const auto& day : p_.days) hold(day.low), hold(day.high), most = std::max(most, day.volume);
    for (const double price : {p_.pivot, p_.range_top, p_.loss_limit, p_.marked_price}) hold(price);
    if (!(high > low)) low = high - 1, high += 1;
    y_ = {low, high, kBottom, kTop};
    volume_ = {0, std::max(1.0, most), kVolumeBottom, kVolumeTop};
  }

  void all() {
    canvas_.fill_all(c_.ground);
    canvas_.text({kLeft, 24}, clean_line(p_.title, 60), c_.ink, 16, Align::left, true);
    if (p_.days.size() < 2) return canvas_.text({kLeft, 60}, "no daily bars", c_.quiet, kSmall);
    range();
    prices();
    volumes();
    levels();
    mark();
    canvas_.text({kLeft, kVolumeBottom + 18}, to_string(p_.days.front().day), c_.quiet, kSmall);
    canvas_.text({kRight - 8, kVolumeBottom + 18}, to_string(p_.days.back().day), c_.quiet, kSmall, Align::right);
  }

 private:
  [[nodiscard]] double x(std::size_t i) const { return x_(static_cast<double>(i)); }

  void range() {
    if (p_.pivot <= 0 || p_.range_top <= p_.pivot) return;
    canvas_.box({kLeft, y_(p_.range_top)}, kRight - kLeft, y_(p_.pivot) - y_(p_.range_top), c_.band);
  }

  void prices() {
    std::vector<Spot> band, closes;
    for (std::size_t i = 0; i < p_.days.size(); ++i) {
      band.push_back({x(i), y_(p_.days[i].high)});
      closes.push_back({x(i), y_(p_.days[i].close)});
    }
    for (std::size_t i = p_.days.size(); i-- > 0;) band.push_back({x(i), y_(p_.days[i].low)});
    canvas_.shape(band, c_.band.faded(0.4));
    canvas_.line(closes, c_.ink, 1.6);
  }

  void volumes() {
    const double wide = std::max(1.0, (kRight - kLeft) / static_cast<double>(p_.days.size()) - 2);
    for (std::size_t i = 0; i < p_.days.size(); ++i) {
      const double top = volume_(p_.days[i].volume);
      canvas_.box({x(i) - wide / 2, top}, wide, kVolumeBottom - top, i == p_.marked ? c_.volume : c_.volume.faded(0.45));
    }
    if (p_.normal <= 0) return;
    canvas_.line({{kLeft, volume_(p_.normal)}, {kRight, volume_(p_.normal)}}, c_.quiet, 1, Dash::dashed);
    canvas_.text({kRight + 8, volume_(p_.normal) + 4}, "normal " + brief(p_.normal), c_.quiet, kSmall);
  }

  void levels() {
    struct Level {
      double price;
      const char* name;
      Colour colour;
      Label label;
    };
    Level all[] = {{p_.range_top, "range to ", c_.pivot, {}},
                   {p_.pivot, "pivot ", c_.pivot, {}},
                   {p_.loss_limit, "loss limit ", c_.loss, {}}};
    std::vector<Label*> labels;
    for (Level& level : all) {
      if (level.price <= 0) continue;
      level.label = {y_(level.price), y_(level.price)};
      labels.push_back(&level.label);
      canvas_.line({{kLeft, y_(level.price)}, {kRight, y_(level.price)}}, level.colour, 1.2,
                   level.price == p_.loss_limit ? Dash::dotted : Dash::solid);
    }
    spread(labels, 16, kTop, kBottom);
    for (const Level& level : all) {
      if (level.price > 0)
        canvas_.text({kRight + 8, level.label.at + 4}, level.name + price_text(level.price), level.colour, kSmall);
    }
  }

  void mark() {
    if (p_.marked_price <= 0) return;
    const std::size_t at = std::min(p_.marked, p_.days.size());
    canvas_.dot({x(at), y_(p_.marked_price)}, 5, c_.ground, c_.pivot);
  }

  Canvas& canvas_;
  const DaysPicture& p_;
  Palette c_;
  Scale x_, y_, volume_;
};

}  // namespace

std::vector<std::uint8_t> days_png(const DaysPicture& picture, PictureStyle style) {
  return png_of(kDaysWidth, kDaysHeight, [&](Canvas& canvas) { DaysDrawing(canvas, picture, style).all(); });
}

std::string days_svg(const DaysPicture& picture, PictureStyle style) {
  return svg_of(kDaysWidth, kDaysHeight, [&](Canvas& canvas) { DaysDrawing(canvas, picture, style).all(); });
}

}  // namespace brimwatch
