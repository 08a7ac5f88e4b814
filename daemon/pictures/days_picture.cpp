#include "pictures/days_picture.h"

#include <algorithm>
#include <cstdio>

#include "core/shares.h"
#include "core/text.h"
#include "pictures/scale.h"
#include "pictures/surface.h"

namespace brimwatch {
namespace {

constexpr double kLeft = 14, kRight = 520, kTop = 40, kBottom = 210, kVolumeTop = 228, kVolumeBottom = 290, kSmall = 13;

const Colour kInk = colour(0x1A1A1A), kQuiet = colour(0x595959), kPivot = colour(0x0072B2), kLoss = colour(0xD55E00),
             kVolume = colour(0x009E73), kBand = colour(0x56B4E9);

std::string price_text(double price) {
  char text[64];
  std::snprintf(text, sizeof text, price < 1 ? "%.4f" : "%.2f", price);
  return text;
}

class DaysDrawing {
 public:
  DaysDrawing(Canvas& canvas, const DaysPicture& picture) : canvas_(canvas), p_(picture) {
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
    canvas_.fill_all(colour(0xFFFFFF));
    canvas_.text({kLeft, 24}, clean_line(p_.title, 60), kInk, 16, Align::left, true);
    if (p_.days.size() < 2) return canvas_.text({kLeft, 60}, "no daily bars", kQuiet, kSmall);
    range();
    prices();
    volumes();
    levels();
    mark();
    canvas_.text({kLeft, kVolumeBottom + 18}, to_string(p_.days.front().day), kQuiet, kSmall);
    canvas_.text({kRight - 8, kVolumeBottom + 18}, to_string(p_.days.back().day), kQuiet, kSmall, Align::right);
  }

 private:
  [[nodiscard]] double x(std::size_t i) const { return x_(static_cast<double>(i)); }

  void range() {
    if (p_.pivot <= 0 || p_.range_top <= p_.pivot) return;
    canvas_.box({kLeft, y_(p_.range_top)}, kRight - kLeft, y_(p_.pivot) - y_(p_.range_top), kBand.faded(0.22));
  }

  void prices() {
    std::vector<Spot> band, closes;
    for (std::size_t i = 0; i < p_.days.size(); ++i) {
      band.push_back({x(i), y_(p_.days[i].high)});
      closes.push_back({x(i), y_(p_.days[i].close)});
    }
    for (std::size_t i = p_.days.size(); i-- > 0;) band.push_back({x(i), y_(p_.days[i].low)});
    canvas_.shape(band, kBand.faded(0.4));
    canvas_.line(closes, kInk, 1.6);
  }

  void volumes() {
    const double wide = std::max(1.0, (kRight - kLeft) / static_cast<double>(p_.days.size()) - 2);
    for (std::size_t i = 0; i < p_.days.size(); ++i) {
      const double top = volume_(p_.days[i].volume);
      canvas_.box({x(i) - wide / 2, top}, wide, kVolumeBottom - top, i == p_.marked ? kVolume : kVolume.faded(0.45));
    }
    if (p_.normal <= 0) return;
    canvas_.line({{kLeft, volume_(p_.normal)}, {kRight, volume_(p_.normal)}}, kQuiet, 1, Dash::dashed);
    canvas_.text({kRight + 8, volume_(p_.normal) + 4}, "normal " + brief(p_.normal), kQuiet, kSmall);
  }

  void levels() {
    struct Level {
      double price;
      const char* name;
      Colour colour;
      Label label;
    };
    Level all[] = {{p_.range_top, "range to ", kPivot, {}},
                   {p_.pivot, "pivot ", kPivot, {}},
                   {p_.loss_limit, "loss limit ", kLoss, {}}};
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
    canvas_.dot({x(at), y_(p_.marked_price)}, 5, colour(0xFFFFFF), kLoss);
  }

  Canvas& canvas_;
  const DaysPicture& p_;
  Scale x_, y_, volume_;
};

}  // namespace

std::vector<std::uint8_t> days_png(const DaysPicture& picture) {
  return png_of(kDaysWidth, kDaysHeight, [&](Canvas& canvas) { DaysDrawing(canvas, picture).all(); });
}

}  // namespace brimwatch
