#include "pictures/picture_draw.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <deque>

#include "core/shares.h"
#include "core/text/text.h"
#include "core/wording.h"
#include "pictures/palette.h"
#include "pictures/scale.h"

namespace brimwatch {
namespace {

std::string clock_text(double minute_of_day) {
  const int minute = static_cast<int>(std::lround(minute_of_day)) % 1440;
  char text[16];
  std::snprintf(text, sizeof text, "%02d:%02d", minute / 60, minute % 60);
  return text;
}

/// One picture on its way: the scales, and the parts that draw with them.
class Drawing {
  static constexpr double kLeft = 20, kRight = 548, kPriceTop = 78, kPriceBottom = 330, kVolumeTop = 384,
                          kVolumeBottom = 556;
  static constexpr double kLabelX = kRight + 12, kSmall = 15, kGap = 19, kMarkSize = 14;

 public:
  Drawing(Canvas& canvas, const DayPicture& day, PictureStyle style)
      : canvas_(canvas), day_(day), c_(palette(style)), x_{0, std::max(1.0, day.session_minutes), kLeft, kRight} {
    set_price_scale();
    set_volume_scale();
  }

  [[nodiscard]] std::vector<MarkLabel> mark_labels() const;

  void all() {
    canvas_.fill_all(c_.ground);
    header();
    hours();
    holes();
    price_panel();
    volume_panel();
  }

 private:
  void set_price_scale();
  void set_volume_scale();
  void header();
  void hours();
  void holes();
  void price_panel();
  void price_labels();
  [[nodiscard]] std::vector<Box> price_lines() const;
  void marks();
  void volume_panel();
  void usual_curve();
  void projection();
  void volume_labels();

  void level(double y, Colour colour, double width, Dash dash) {
    canvas_.line({{kLeft, y}, {kRight, y}}, colour, width, dash);
  }
  /// Of a level beside the picture.
  struct SideLabel {
    double value;
    std::string words;
    Colour colour;
    bool bold;
    Label place{};
  };
  /// Moved apart where they are too near each other, each with a line from its level.
  void side_labels(std::deque<SideLabel>& labels, const Scale& scale, double top, double bottom) {
    std::vector<Label*> places;
    for (SideLabel& label : labels) {
      label.place.wanted = scale(label.value);
      places.push_back(&label.place);
    }
    spread(places, kGap, top, bottom);
    for (const SideLabel& label : labels) {
      canvas_.line({{kRight + 2, scale(label.value)}, {kLabelX - 3, label.place.at}}, label.colour, 1);
      canvas_.text({kLabelX, label.place.at + 5}, label.words, label.colour, kSmall, Align::left, label.bold);
    }
  }
  [[nodiscard]] Spot spot_of(const DayPicture::Mark& mark) const {
    return {x_(mark.minute), std::clamp(price_(mark.price), kPriceTop, kPriceBottom)};
  }
  /// The last three marks have their words beside them.
  [[nodiscard]] std::size_t first_labelled() const { return day_.marks.size() < 3 ? 0 : day_.marks.size() - 3; }
  static std::string words_of(const DayPicture::Mark& mark) { return clean_line(mark.label, 30); }
  [[nodiscard]] double last_price() const { return day_.price.empty() ? 0 : day_.price.back().value; }
  [[nodiscard]] double so_far() const { return day_.volume.empty() ? 0 : day_.volume.back().value; }
  [[nodiscard]] double wanted() const { return day_.normal * (1 + day_.needed / 100); }
  /// The loss limit is drawn once the price comes nearer to it than to the pivot; else it would flatten the picture.
  [[nodiscard]] bool shows_loss() const {
    if (day_.loss_limit <= 0 || day_.pivot <= 0 || day_.price.empty()) return false;
    return std::any_of(day_.price.begin(), day_.price.end(),
                       [&](const auto& point) { return point.value < (day_.pivot + day_.loss_limit) / 2; });
  }
  [[nodiscard]] double usual_at(double minute) const;
  [[nodiscard]] std::vector<Spot> path_to(double total) const;

  Canvas& canvas_;
  const DayPicture& day_;
  Palette c_;
  Scale x_, price_, volume_;
};

void Drawing::set_price_scale() {
  std::vector<double> seen;
  for (const auto& point : day_.price) seen.push_back(point.value);
  for (const double value : {day_.pivot, day_.range_top, shows_loss() ? day_.loss_limit : 0.0}) {
    if (value > 0) seen.push_back(value);
  }
  if (seen.empty()) seen = {0, 1};
  const auto [low, high] = std::minmax_element(seen.begin(), seen.end());
  const double room = std::max((*high - *low) * 0.08, *high * 0.002 + 1e-9);
  price_ = {*low - room, *high + room, kPriceBottom, kPriceTop};
}

void Drawing::set_volume_scale() {
  const bool ended = day_.now_minute >= x_.to;
  const double most = std::max({so_far(), day_.normal, wanted(), ended ? 0.0 : day_.high, 1.0});
  volume_ = {0, most * 1.06, kVolumeBottom, kVolumeTop};
}

void Drawing::header() {
  const std::string symbol = clean_line(day_.symbol, 24);
  canvas_.text({kLeft, 40}, symbol, c_.ink, 30, Align::left, true);
  const double after = kLeft + canvas_.text_width(symbol, 30, true) + 14;
  std::string words = day_.price.empty() ? "no trades yet" : price_text(last_price());
  if (!day_.price.empty() && day_.pivot > 0) {
    const double percent = (last_price() / day_.pivot - 1) * 100;
    words += "  " + percent_text(percent, std::abs(percent) < 0.05 && percent != 0 ? 2 : 1) + " from the pivot";
  }
  canvas_.text({after, 40}, words, c_.ink, 19);
  const std::string when =
      to_string(day_.day) + "  " + clock_text(day_.open_minute + std::min(day_.now_minute, day_.session_minutes));
  canvas_.text({kPictureWidth - 16.0, 40}, when, c_.quiet, kSmall, Align::right);
  canvas_.text({kLeft, 66}, "Price", c_.quiet, kSmall);
  canvas_.text({kLeft, 372}, "Volume so far", c_.quiet, kSmall);
  if (!day_.judgement.empty()) {
    canvas_.text({kPictureWidth - 16.0, 372}, clean_line(day_.judgement, 60), c_.ink, kSmall, Align::right, true);
  }
}

/// A line at every full hour, through both panels.
void Drawing::hours() {
  const double first = std::ceil(day_.open_minute / 60) * 60;
  for (double minute = first; minute <= day_.open_minute + day_.session_minutes; minute += 60) {
    const double x = x_(minute - day_.open_minute);
    canvas_.line({{x, kPriceTop}, {x, kPriceBottom}}, c_.grid, 1);
    canvas_.line({{x, kVolumeTop}, {x, kVolumeBottom}}, c_.grid, 1);
    canvas_.text({x, kVolumeBottom + 22}, clock_text(minute), c_.quiet, kSmall, Align::middle);
  }
}

void Drawing::holes() {
  for (const auto& [from, to] : day_.holes) {
    const double left = x_(std::clamp(from, 0.0, day_.session_minutes)),
                 right = x_(std::clamp(to, 0.0, day_.session_minutes));
    if (right - left < 0.5) continue;
    canvas_.box({left, kPriceTop}, right - left, kPriceBottom - kPriceTop, c_.usual.faded(0.18));
    canvas_.box({left, kVolumeTop}, right - left, kVolumeBottom - kVolumeTop, c_.usual.faded(0.18));
    if (right - left > 36)
      canvas_.text({(left + right) / 2, kPriceBottom - 8}, "feed blind", c_.quiet, 13, Align::middle);
  }
}

void Drawing::price_panel() {
  if (day_.pivot > 0 && day_.range_top > day_.pivot) {
    canvas_.box({kLeft, price_(day_.range_top)}, kRight - kLeft, price_(day_.pivot) - price_(day_.range_top), c_.band);
    level(price_(day_.range_top), c_.pivot, 1.5, Dash::dashed);
  }
  if (day_.pivot > 0) level(price_(day_.pivot), c_.pivot, 2.5, Dash::solid);
  if (shows_loss()) level(price_(day_.loss_limit), c_.loss, 2.5, Dash::dotted);
  std::vector<Spot> path;
  for (const auto& point : day_.price) path.push_back({x_(point.minute), price_(point.value)});
  canvas_.clip({kLeft, kPriceTop}, kRight - kLeft + 8, kPriceBottom - kPriceTop);
  canvas_.line(path, c_.ink, 2.2);
  canvas_.unclip();
  marks();
  if (!path.empty()) canvas_.dot(path.back(), 4.5, c_.ink, c_.ground);
  price_labels();
}

void Drawing::price_labels() {
  std::deque<SideLabel> labels;
  if (day_.range_top > 0) labels.push_back({day_.range_top, price_text(day_.range_top) + " range top", c_.pivot, false});
  if (day_.pivot > 0) labels.push_back({day_.pivot, price_text(day_.pivot) + " pivot", c_.pivot, true});
  if (shows_loss()) labels.push_back({day_.loss_limit, price_text(day_.loss_limit) + " loss limit", c_.loss, false});
  if (!day_.price.empty()) labels.push_back({last_price(), price_text(last_price()) + " now", c_.ink, true});
  side_labels(labels, price_, kPriceTop, kPriceBottom);
  if (day_.loss_limit > 0 && !shows_loss()) {
    canvas_.text({kLabelX, kPriceBottom + 16}, "loss limit " + price_text(day_.loss_limit), c_.quiet, 13);
  }
}

/// What the words of marks should keep off: the levels, the price's own line, the dots.
std::vector<Box> Drawing::price_lines() const {
  std::vector<Box> out;
  for (const double level : {day_.pivot, day_.range_top, shows_loss() ? day_.loss_limit : 0.0}) {
    if (level > 0) out.push_back({kLeft, price_(level) - 2, kRight, price_(level) + 2});
  }
  for (std::size_t i = 1; i < day_.price.size(); ++i) {
    const double y1 = price_(day_.price[i - 1].value), y2 = price_(day_.price[i].value);
    out.push_back({x_(day_.price[i - 1].minute), std::min(y1, y2) - 1, x_(day_.price[i].minute), std::max(y1, y2) + 1});
  }
  for (const DayPicture::Mark& mark : day_.marks) {
    const Spot spot = spot_of(mark);
    out.push_back({spot.x - 7, spot.y - 7, spot.x + 7, spot.y + 7});
  }
  return out;
}

std::vector<MarkLabel> Drawing::mark_labels() const {
  std::vector<MarkLabel> labels;
  for (std::size_t i = first_labelled(); i < day_.marks.size(); ++i) {
    labels.push_back({spot_of(day_.marks[i]), canvas_.text_width(words_of(day_.marks[i]), kMarkSize) + 4, kMarkSize + 5});
  }
  place_labels(labels, {kLeft, kPriceTop, kRight, kPriceBottom}, price_lines());
  return labels;
}

void Drawing::marks() {
  for (const DayPicture::Mark& mark : day_.marks) canvas_.dot(spot_of(mark), 6, c_.ground, c_.pivot);
  const std::vector<MarkLabel> labels = mark_labels();
  for (std::size_t i = 0; i < labels.size(); ++i) {
    const Box& box = labels[i].box;
    const Spot near{std::clamp(labels[i].mark.x, box.left, box.right), std::clamp(labels[i].mark.y, box.top, box.bottom)};
    if (std::hypot(near.x - labels[i].mark.x, near.y - labels[i].mark.y) > 20)
      canvas_.line({labels[i].mark, near}, c_.quiet, 0.8);
    canvas_.text_over({box.left + 2, box.bottom - 5}, words_of(day_.marks[first_labelled() + i]), c_.ink, c_.ground,
                      kMarkSize, Align::left);
  }
}

double Drawing::usual_at(double minute) const {
  const auto& curve = day_.usual;
  if (curve.empty()) return std::clamp(minute / x_.to, 0.0, 1.0);
  const auto next = std::find_if(curve.begin(), curve.end(), [&](const auto& point) { return point.minute >= minute; });
  if (next == curve.end()) return curve.back().value;
  if (next == curve.begin()) return next->minute <= 0 ? next->value : next->value * std::max(0.0, minute) / next->minute;
  const auto before = std::prev(next);
  const double part = (minute - before->minute) / (next->minute - before->minute);
  return before->value + part * (next->value - before->value);
}

/// From where the day stands to `total`, along what is left of the usual curve.
std::vector<Spot> Drawing::path_to(double total) const {
  const double now = std::min(day_.now_minute, x_.to), start = usual_at(now),
               rest = std::max(1e-9, usual_at(x_.to) - start);
  std::vector<Spot> path;
  for (int i = 0; i <= 40; ++i) {
    const double minute = now + (x_.to - now) * i / 40;
    path.push_back({x_(minute), volume_(so_far() + (total - so_far()) * (usual_at(minute) - start) / rest)});
  }
  path.back().y = volume_(total);
  return path;
}

void Drawing::usual_curve() {
  if (day_.normal <= 0) return;
  std::vector<Spot> path;
  for (int i = 0; i <= 80; ++i) {
    const double minute = x_.to * i / 80;
    path.push_back({x_(minute), volume_(day_.normal * usual_at(minute))});
  }
  canvas_.line(path, c_.usual, 2, Dash::dashed);
  level(volume_(wanted()), c_.volume, 1.5, Dash::dashed);
}

void Drawing::projection() {
  if (day_.projected <= 0 || day_.now_minute >= x_.to) return;
  std::vector<Spot> fan = path_to(day_.high);
  const std::vector<Spot> low = path_to(day_.low);
  fan.insert(fan.end(), low.rbegin(), low.rend());
  canvas_.shape(fan, c_.volume.faded(0.25));
  canvas_.line(path_to(day_.projected), c_.volume, 2, Dash::dotted);
  canvas_.line({{kRight, volume_(day_.low)}, {kRight, volume_(day_.high)}}, c_.volume, 4);
}

void Drawing::volume_panel() {
  level(kVolumeBottom, c_.grid, 1.5, Dash::solid);
  std::vector<Spot> path;
  for (const auto& point : day_.volume) path.push_back({x_(point.minute), volume_(point.value)});
  if (!path.empty()) {
    std::vector<Spot> area = path;
    area.push_back({path.back().x, kVolumeBottom});
    area.push_back({path.front().x, kVolumeBottom});
    canvas_.shape(area, c_.volume.faded(0.35));
  }
  projection();
  usual_curve();
  canvas_.line(path, c_.volume, 2.5);
  if (!path.empty()) canvas_.dot(path.back(), 4.5, c_.volume, c_.ground);
  volume_labels();
}

void Drawing::volume_labels() {
  std::deque<SideLabel> labels;
  if (day_.normal > 0) {
    labels.push_back({day_.normal, brief(day_.normal) + " normal", c_.usual, false});
    labels.push_back({wanted(), brief(wanted()) + " needed", c_.ink, false});
  }
  const bool ended = day_.now_minute >= x_.to;
  if (ended || day_.projected <= 0) labels.push_back({so_far(), brief(so_far()) + " so far", c_.ink, true});
  else labels.push_back({day_.projected, brief(day_.projected) + " projected", c_.ink, true});
  side_labels(labels, volume_, kVolumeTop, kVolumeBottom);
  if (!ended && day_.projected > 0) {
    const std::string interval = "80 % interval " + brief(day_.low) + " to " + brief(day_.high);
    canvas_.text({kPictureWidth - 16.0, kVolumeBottom + 38}, interval, c_.quiet, 13, Align::right);
    canvas_.text({kLeft + canvas_.text_width("Volume so far", kSmall) + 10, 372}, brief(so_far()), c_.ink, kSmall,
                 Align::left, true);
  }
}

}  // namespace

void draw(Canvas& canvas, const DayPicture& day, PictureStyle style) { Drawing(canvas, day, style).all(); }

std::vector<MarkLabel> mark_labels(Canvas& canvas, const DayPicture& day) {
  return Drawing(canvas, day, PictureStyle::light).mark_labels();
}

}  // namespace brimwatch
