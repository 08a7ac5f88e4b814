#include "weekend/panels.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/shares.h"
#include "pictures/labels.h"
#include "pictures/scale.h"
#include "weekend/weekly.h"

namespace brimwatch {
namespace {

/// From bars to places on the paper; prices on a log scale.
struct BarScale {
  Panel panel;
  Scale across, upwards;  ///< bar numbers; logs of prices

  [[nodiscard]] double x(double i) const { return across(i); }
  [[nodiscard]] double y(double price) const { return upwards(std::log(price)); }
  [[nodiscard]] double step() const { return across(1) - across(0); }
  [[nodiscard]] double low() const { return std::exp(upwards.from); }
  [[nodiscard]] double high() const { return std::exp(upwards.to); }
};

/// `room`: share of the span left free above and below, for the words of marks.
BarScale scale_for(const DaysFrame& frame, Panel panel, const std::vector<DailyBar>& bars, double low, double high,
                   double room) {
  for (const DailyBar& bar : bars) {
    low = std::min(low, bar.low.as_double());
    high = std::max(high, bar.high.as_double());
  }
  const double span = std::max(std::log(high / low), 1e-6), count = static_cast<double>(bars.size());
  return {panel,
          {-0.5, count - 0.5, frame.left, frame.right},
          {std::log(low) - room * span, std::log(high) + room * span, panel.bottom, panel.top}};
}

/// So many that two lines of the grid never bear the same price; cents where there are any.
int decimals_of(double step) {
  return step >= 1 ? 0 : std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1e-9)), 2, 6);
}

class Panels {
 public:
  Panels(Canvas& canvas, const Palette& colours, const DaysFrame& frame) : canvas_(canvas), c_(colours), f_(frame) {}

  /// Prices in the right margin; none where `taken` (places of other words) is near.
  void price_grid(const BarScale& scale, int most, const std::vector<double>& taken) {
    const std::vector<double> steps = round_steps(scale.low(), scale.high(), most);
    const double step = steps.size() > 1 ? steps[1] - steps[0] : 1;
    for (const double price : steps) {
      const double y = scale.y(price);
      canvas_.line({{f_.left, y}, {f_.right, y}}, c_.grid, 1);
      if (std::any_of(taken.begin(), taken.end(), [&](double at) { return std::abs(at - y) < 1.3 * f_.letters; }))
        continue;
      if (y - f_.letters < scale.panel.top || y + f_.letters > scale.panel.bottom) continue;
      in_margin(y, fmt::format("{:.{}f}", price, decimals_of(step)), c_.quiet);
    }
  }

  /// Lines over `over`, names on the line `names_at`: as many as there is room for.
  void months(const std::vector<DailyBar>& bars, const BarScale& scale, Panel over, double names_at) {
    static constexpr std::array<const char*, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                            "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    double free_from = f_.left;
    for (std::size_t i = 1; i < bars.size(); ++i) {
      const auto now = bars[i].day.ymd();
      if (now.month() == bars[i - 1].day.ymd().month()) continue;
      const double x = scale.x(static_cast<double>(i));
      canvas_.line({{x, over.top}, {x, over.bottom}}, c_.grid, 1);
      const unsigned month = static_cast<unsigned>(now.month());
      const std::string name = month == 1 ? std::to_string(static_cast<int>(now.year())) : kMonths[month - 1];
      const double end = x + 3 + Canvas::text_width(name, f_.letters);
      if (x < free_from || end > f_.right) continue;
      canvas_.text({x + 3, names_at}, name, c_.quiet, f_.letters);
      free_from = end + 4;
    }
  }

  /// Each bar from low to high, with a tick to the right at its close.
  void bars(const std::vector<DailyBar>& bars, const BarScale& scale) {
    const double tick = std::min(4.0, 0.5 * scale.step());
    for (std::size_t i = 0; i < bars.size(); ++i) {
      const double x = scale.x(static_cast<double>(i)), close = scale.y(bars[i].close.as_double());
      canvas_.line({{x, scale.y(bars[i].high.as_double())}, {x, scale.y(bars[i].low.as_double())}}, c_.ink, 1.1);
      canvas_.line({{x, close}, {x + tick, close}}, c_.ink, 1.1);
    }
  }

  /// In the margin, as large as there is room for; where levels lie near each other, moved apart by the caller.
  void in_margin(double y, const std::string& words, const Colour& colour) {
    const double room = f_.paper - f_.right - 22, wide = Canvas::text_width(words, f_.letters);
    const double size = wide > room ? f_.letters * room / wide : f_.letters;
    canvas_.text({f_.right + 20, y + 0.36 * size}, words, colour, size);
  }

  void legend(double y, const std::string& words, Align align = Align::left) {
    canvas_.text_over({align == Align::left ? f_.left : f_.right, y}, words, c_.quiet, c_.ground, f_.letters, align);
  }

 protected:
  Canvas& canvas_;
  const Palette& c_;
  const DaysFrame& f_;
};

class DaysPanels : public Panels {
 public:
  DaysPanels(Canvas& canvas, const Palette& colours, const DaysFrame& frame, const BaseDays& days)
      : Panels(canvas, colours, frame), d_(days), facts_(days.one->facts), pivot_(facts_.pivot.as_double()) {
    scale_ = scale_for(frame, frame.prices, days.bars, pivot_, top(), 0.16);
  }

  void draw() {
    const std::vector<double> taken = level_places();
    price_grid(scale_, f_.grid, taken);
    months(d_.bars, scale_, {f_.prices.top, f_.volume.bottom}, f_.prices.bottom + f_.letters);
    pivot_and_range(taken);
    bars(d_.bars, scale_);
    volume();
    marks();
  }

 private:
  [[nodiscard]] double top() const { return pivot_ * (1 + d_.range / 100); }

  /// Of the words of the range's top and of the pivot.
  [[nodiscard]] std::vector<double> level_places() const {
    Label high{scale_.y(top()), 0}, low{scale_.y(pivot_), 0};
    spread({&high, &low}, 1.3 * f_.letters, f_.prices.top, f_.prices.bottom);
    return {high.at, low.at};
  }

  void pivot_and_range(const std::vector<double>& places) {
    const double pivot = scale_.y(pivot_), high = scale_.y(top()), edge = f_.right + 4;
    const double from = scale_.x(d_.one->base.peak - d_.one->first - d_.before);
    canvas_.line({{std::max(from, f_.left), pivot}, {f_.right, pivot}}, c_.pivot, 2);
    canvas_.line({{edge, high}, {edge + 8, high}, {edge + 8, pivot}, {edge, pivot}}, c_.pivot, 1.6);
    in_margin(places[0], fmt::format("to +{:g} %", d_.range), c_.pivot);
    in_margin(places[1], "pivot " + to_string(facts_.pivot), c_.pivot);
  }

  /// What the words of marks keep off.
  [[nodiscard]] std::vector<Box> lines() const {
    std::vector<Box> out;
    const double half = std::max(1.0, 0.5 * scale_.step());
    for (std::size_t i = 0; i < d_.bars.size(); ++i) {
      const double x = scale_.x(static_cast<double>(i));
      out.push_back(
          {x - half, scale_.y(d_.bars[i].high.as_double()) - 1, x + half, scale_.y(d_.bars[i].low.as_double()) + 1});
    }
    const double pivot = scale_.y(pivot_);
    out.push_back({scale_.x(d_.one->base.peak - d_.one->first - d_.before), pivot - 2, f_.right, pivot + 2});
    return out;
  }

  void marks() {
    std::vector<Box> kept_off = lines();
    std::vector<MarkLabel> labels;
    for (const Point& point : facts_.points) {
      const Spot spot{scale_.x(last_bar_by(d_.bars, point.day)), scale_.y(point.price.as_double())};
      canvas_.dot(spot, 5, c_.ground.faded(0), c_.ink);
      kept_off.push_back({spot.x - 7, spot.y - 7, spot.x + 7, spot.y + 7});
      const double wide =
          std::max(Canvas::text_width(point.name, f_.letters), Canvas::text_width(to_string(point.price), f_.letters));
      labels.push_back({spot, wide + 4, 2.1 * f_.letters + 4});
    }
    place_labels(labels, {f_.left, f_.prices.top, f_.right, f_.prices.bottom}, kept_off);
    for (std::size_t i = 0; i < labels.size(); ++i) mark_words(labels[i], facts_.points[i]);
  }

  void mark_words(const MarkLabel& label, const Point& point) {
    const Box& box = label.box;
    const Spot near{std::clamp(label.mark.x, box.left, box.right), std::clamp(label.mark.y, box.top, box.bottom)};
    const double middle = (box.left + box.right) / 2;
    if (std::hypot(near.x - label.mark.x, near.y - label.mark.y) > 20) canvas_.line({label.mark, near}, c_.quiet, 0.8);
    canvas_.text_over({middle, box.top + f_.letters}, point.name, c_.ink, c_.ground, f_.letters, Align::middle);
    canvas_.text_over({middle, box.top + 2.1 * f_.letters}, to_string(point.price), c_.ink, c_.ground, f_.letters,
                      Align::middle);
  }

  void volume() {
    double most = facts_.normal_volume * 2;
    for (const DailyBar& bar : d_.bars) most = std::max(most, bar.volume);
    const std::string legend_words = "volume: filled where the close rose, hollow where it did not; dashed: normal";
    const bool has_room = Canvas::text_width(legend_words, f_.letters) < f_.right - f_.left;
    legend(f_.volume.top - 4, has_room ? legend_words : "volume; filled: the close rose", Align::right);
    if (most <= 0) return;
    const Scale y{0, most, f_.volume.bottom, f_.volume.top};
    for (std::size_t i = 0; i < d_.bars.size(); ++i) {
      const bool rose = i > 0 && d_.bars[i].close > d_.bars[i - 1].close;
      volume_bar(scale_.x(static_cast<double>(i)), y(d_.bars[i].volume), rose);
    }
    const double normal = y(facts_.normal_volume);
    canvas_.line({{f_.left, normal}, {f_.right, normal}}, c_.ink, 1.2, Dash::dashed);
    in_margin(normal, "normal " + brief(facts_.normal_volume), c_.quiet);
  }

  void volume_bar(double x, double top, bool rose) {
    const double wide = std::max(1.0, 0.7 * scale_.step()), left = x - wide / 2, floor = f_.volume.bottom;
    canvas_.box({left, top}, wide, floor - top, rose ? c_.ink : c_.ground);
    if (!rose && wide > 1)
      canvas_.line({{left, floor}, {left, top}, {left + wide, top}, {left + wide, floor}}, c_.ink, 0.6);
    else if (!rose) canvas_.line({{x, floor}, {x, top}}, c_.usual, 0.5);
  }

  const BaseDays& d_;
  const Facts& facts_;
  double pivot_;
  BarScale scale_;
};

}  // namespace

void draw_days(Canvas& canvas, const Palette& colours, const DaysFrame& frame, const BaseDays& days) {
  DaysPanels(canvas, colours, frame, days).draw();
}

void draw_strength(Canvas& canvas, const Palette& colours, const DaysFrame& frame, const Candidate& one, Panel panel) {
  double low = 0, high = 0;
  for (const double value : one.line) {
    if (value <= 0) continue;
    low = low == 0 ? value : std::min(low, value);
    high = std::max(high, value);
  }
  if (!(high > low)) return;
  const Scale x{-0.5, static_cast<double>(one.bars.size()) - 0.5, frame.left, frame.right},
      y{low, high, panel.bottom, panel.top};
  std::vector<Spot> spots;
  for (std::size_t i = 0; i < one.line.size(); ++i) {
    if (one.line[i] > 0) spots.push_back({x(static_cast<double>(i)), y(one.line[i])});
  }
  canvas.line(std::move(spots), colours.ink, 1.2);
  Panels(canvas, colours, frame).legend(panel.top - 6, "relative strength line: close / index");
}

void draw_weeks(Canvas& canvas, const Palette& colours, const DaysFrame& frame, const Candidate& one, Panel panel) {
  if (one.weeks.size() < 2) return;
  const double pivot = one.facts.pivot.as_double(), count = static_cast<double>(one.weeks.size());
  const BarScale scale = scale_for(frame, panel, one.weeks, pivot, pivot, 0.03);
  std::vector<Spot> spots;
  for (int i = 0; i < static_cast<int>(one.weeks.size()); ++i) {
    if (const auto mean = mean_of_weeks(one.weeks, i)) spots.push_back({scale.x(i), scale.y(*mean)});
  }
  Panels panels(canvas, colours, frame);
  panels.price_grid(scale, 4, {});
  panels.months(one.weeks, scale, {panel.top, panel.bottom + 6}, panel.bottom + frame.letters + 6);
  panels.bars(one.weeks, scale);
  canvas.line(std::move(spots), colours.ink, 1.4, Dash::dashed);
  canvas.line({{scale.x(std::max(0.0, count - 5)), scale.y(pivot)}, {frame.right, scale.y(pivot)}}, colours.pivot, 2);
  panels.legend(panel.top - 8, "weeks; dashed: mean of ten weekly closes");
}

}  // namespace brimwatch
