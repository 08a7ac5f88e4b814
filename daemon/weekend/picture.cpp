#include "weekend/picture.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/shares.h"
#include "core/text/text.h"
#include "weekend/svg.h"
#include "weekend/weekly.h"

namespace brimwatch {
namespace {

using svg::Anchor;
using svg::Stroke;
using svg::XY;

struct Panel {
  double top, bottom;
};
constexpr double kWidth = 960, kLeft = 16, kRight = 836, kHeight = 788;
constexpr Panel kPrices{84, 390}, kVolume{416, 500}, kStrength{526, 576}, kWeeks{636, 760};

/// From values to places on the paper; prices on a log scale.
struct Scale {
  Panel panel;
  std::size_t count = 0;
  double low = 0, high = 0;  // logs

  [[nodiscard]] double step() const { return (kRight - kLeft) / static_cast<double>(count); }
  [[nodiscard]] double x(double i) const { return kLeft + step() * (i + 0.5); }
  [[nodiscard]] double y(double price) const {
    return panel.bottom - (panel.bottom - panel.top) * (std::log(price) - low) / (high - low);
  }
};

/// `room`: share of the span left free above and below, for the words of marks.
Scale scale_for(Panel panel, const std::vector<DailyBar>& bars, double low, double high, double room) {
  for (const DailyBar& bar : bars) {
    low = std::min(low, bar.low.as_double());
    high = std::max(high, bar.high.as_double());
  }
  const double span = std::max(std::log(high / low), 1e-6);
  return {panel, bars.size(), std::log(low) - room * span, std::log(high) + room * span};
}

/// 1, 2 or 5 times a power of ten: about `lines` lines on the paper.
double round_step(double span, double lines) {
  const double raw = span / lines, power = std::pow(10, std::floor(std::log10(raw)));
  const double lead = raw / power;
  return power * (lead <= 1 ? 1 : lead <= 2 ? 2 : lead <= 5 ? 5 : 10);
}

/// So many that two lines of the grid never bear the same price; cents where there are any.
int decimals_of(double step) { return step >= 1 ? 0 : std::clamp(static_cast<int>(std::ceil(-std::log10(step))), 2, 6); }

/// Prices at the right margin; none where `taken` (places of other words) is near.
std::string price_grid(const Scale& scale, double lines, const std::vector<double>& taken) {
  std::string out;
  const double low = std::exp(scale.low), high = std::exp(scale.high), step = round_step(high - low, lines);
  for (double price = std::ceil(low / step) * step; price < high; price += step) {
    const double y = scale.y(price);
    out += svg::line({kLeft, y}, {kRight, y}, 1, Stroke::faint);
    const bool free = std::none_of(taken.begin(), taken.end(), [y](double other) { return std::abs(other - y) < 13; });
    if (free) out += svg::text({kRight + 20, y + 4}, 11, Anchor::start, fmt::format("{:.{}f}", price, decimals_of(step)));
  }
  return out;
}

/// Lines over `over`, names on the line `names_at`.
std::string month_grid(const std::vector<DailyBar>& bars, const Scale& scale, Panel over, double names_at,
                       std::size_t skip) {
  static constexpr std::array<const char*, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                          "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  std::string out;
  for (std::size_t i = 1; i < bars.size(); ++i) {
    const auto now = bars[i].day.ymd();
    const unsigned month = static_cast<unsigned>(now.month());
    if (now.month() == bars[i - 1].day.ymd().month() || (month - 1) % skip != 0) continue;
    const double x = scale.x(static_cast<double>(i));
    out += svg::line({x, over.top}, {x, over.bottom}, 1, Stroke::faint);
    const std::string name = month == 1 ? std::to_string(static_cast<int>(now.year())) : kMonths[month - 1];
    if (x + svg::width_of(name, 11) < kRight) out += svg::text({x + 3, names_at}, 11, Anchor::start, name);
  }
  return out;
}

/// Each bar from low to high, with a tick to the right at its close.
std::string price_bars(const std::vector<DailyBar>& bars, const Scale& scale) {
  std::string out;
  const double tick = std::min(4.0, 0.5 * scale.step());
  for (std::size_t i = 0; i < bars.size(); ++i) {
    const double x = scale.x(static_cast<double>(i)), close = scale.y(bars[i].close.as_double());
    out += svg::line({x, scale.y(bars[i].high.as_double())}, {x, scale.y(bars[i].low.as_double())}, 1.1);
    out += svg::line({x, close}, {x + tick, close}, 1.1);
  }
  return out;
}

std::string pivot_and_range(const Candidate& one, const Scale& scale, double range) {
  const double pivot = scale.y(one.facts.pivot.as_double()),
               top = scale.y(one.facts.pivot.as_double() * (1 + range / 100));
  const double from = scale.x(one.base.peak - one.first);
  return svg::line({from, pivot}, {kRight, pivot}, 1.8) + svg::bracket(kRight + 4, top, pivot, 8) +
         svg::text({kRight + 20, pivot + 4}, 12, Anchor::start, "pivot " + to_string(one.facts.pivot)) +
         svg::text({kRight + 20, std::min(top + 4, pivot - 10)}, 11, Anchor::start, fmt::format("to +{:g} %", range));
}

/// Words beside marks, each moved on until it lies over none before it.
class Labels {
 public:
  std::string put(XY at, double direction, const std::string& name, const std::string& price) {
    const double half = std::max(svg::width_of(name, 12), svg::width_of(price, 11)) / 2;
    at.x = std::clamp(at.x, kLeft + half, kRight - half);
    Room room{at.x - half, at.y - 12, at.x + half, at.y + 15};
    while (std::any_of(taken_.begin(), taken_.end(), [&](const Room& other) { return room.meets(other); })) {
      room.top += direction * 4;
      room.bottom += direction * 4;
      at.y += direction * 4;
    }
    taken_.push_back(room);
    return svg::text(at, 12, Anchor::middle, name) + svg::text({at.x, at.y + 13}, 11, Anchor::middle, price);
  }

 private:
  struct Room {
    double left, top, right, bottom;
    [[nodiscard]] bool meets(const Room& other) const {
      return left < other.right && other.left < right && top < other.bottom && other.top < bottom;
    }
  };
  std::vector<Room> taken_;
};

std::string marks(const Candidate& one, const Scale& scale) {
  std::string out;
  Labels labels;
  for (const Point& point : one.facts.points) {
    const int at = last_bar_by(one.bars, point.day);
    const XY spot{scale.x(at), scale.y(point.price.as_double())};
    const bool is_high = one.bars[static_cast<std::size_t>(at)].high == point.price;
    out += svg::ring(spot, 5);
    out +=
        labels.put({spot.x, is_high ? spot.y - 24 : spot.y + 20}, is_high ? -1 : 1, point.name, to_string(point.price));
  }
  return out;
}

std::string volume_bars(const Candidate& one, const Scale& scale) {
  double most = one.facts.normal_volume * 2;
  for (const DailyBar& bar : one.bars) most = std::max(most, bar.volume);
  std::string out = svg::text({kRight, kVolume.top - 2}, 11, Anchor::end,
                              "volume: filled where the close rose, hollow where it did not; dashed: normal");
  if (most <= 0) return out;
  const double wide = std::max(1.0, 0.7 * scale.step());
  const auto y = [&](double volume) { return kVolume.bottom - (kVolume.bottom - kVolume.top) * volume / most; };
  for (std::size_t i = 0; i < one.bars.size(); ++i) {
    const bool rose = i > 0 && one.bars[i].close > one.bars[i - 1].close;
    const double top = y(one.bars[i].volume);
    out += svg::box({scale.x(static_cast<double>(i)) - wide / 2, top}, wide, kVolume.bottom - top,
                    rose ? svg::Fill::filled : svg::Fill::hollow);
  }
  const double normal = y(one.facts.normal_volume);
  return out + svg::line({kLeft, normal}, {kRight, normal}, 1.2, Stroke::dashed) +
         svg::text({kRight + 20, normal + 4}, 11, Anchor::start, "normal " + brief(one.facts.normal_volume));
}

std::string strength_panel(const Candidate& one, const Scale& scale) {
  double low = 0, high = 0;
  for (const double value : one.line) {
    if (value <= 0) continue;
    low = low == 0 ? value : std::min(low, value);
    high = std::max(high, value);
  }
  if (!(high > low)) return {};
  std::string spots;
  for (std::size_t i = 0; i < one.line.size(); ++i) {
    if (one.line[i] <= 0) continue;
    const double y = kStrength.bottom - (kStrength.bottom - kStrength.top) * (one.line[i] - low) / (high - low);
    spots += svg::spot({scale.x(static_cast<double>(i)), y});
  }
  return svg::path(spots, 1.2) +
         svg::text({kLeft, kStrength.top - 6}, 11, Anchor::start, "relative strength line: close / index");
}

std::string week_panel(const Candidate& one) {
  if (one.weeks.size() < 2) return {};
  const double pivot = one.facts.pivot.as_double();
  const Scale scale = scale_for(kWeeks, one.weeks, pivot, pivot, 0.03);
  std::string spots;
  for (int i = 0; i < static_cast<int>(one.weeks.size()); ++i) {
    if (const auto mean = mean_of_weeks(one.weeks, i)) spots += svg::spot({scale.x(i), scale.y(*mean)});
  }
  return price_grid(scale, 4, {}) + month_grid(one.weeks, scale, {kWeeks.top, kWeeks.bottom + 6}, kWeeks.bottom + 18, 3) +
         price_bars(one.weeks, scale) + svg::path(spots, 1.4, Stroke::dashed) +
         svg::line({scale.x(static_cast<double>(one.weeks.size()) - 5), scale.y(pivot)}, {kRight, scale.y(pivot)}, 1.8) +
         svg::text({kLeft, kWeeks.top - 8}, 11, Anchor::start, "weeks; dashed: mean of ten weekly closes");
}

std::string outlook_words(const Candidate& one) {
  if (!one.outlook) return "no ordinary move is known: the history is too short";
  const Outlook& o = *one.outlook;
  return fmt::format(
      "{:.1f} ordinary moves ({:.1f} % a day) to the pivot; some {:.0f} of 100 cross within a week; of 1,000 such "
      "crossings {:.0f} rose 20 % before falling 8 %, {:.0f} fell first",
      o.moves_to_pivot, o.move.percent, 100 * o.cross_in_5, 1000 * o.up20_first, 1000 * o.down8_first);
}

std::string caption(const Candidate& one) {
  const Facts& f = one.facts;
  const std::string shape =
      fmt::format("{:.0f} % deep, {:.1f} weeks, rose {:.0f} % before; last close {} on {}; ", f.depth, f.length / 5.0,
                  f.prior_rise, to_string(f.last_close), to_string(f.as_of));
  return svg::text({kLeft, 24}, 18, Anchor::start,
                   one.symbol + ": " + std::string(to_string(f.kind)) + ", pivot " + to_string(f.pivot)) +
         svg::text({kLeft, 44}, 12, Anchor::start, shape + one.judgement.explained) +
         svg::text({kLeft, 61}, 12, Anchor::start, outlook_words(one));
}

/// The part that is shown beside the day, where there is little room (IMAGE#beside): from shortly before the base, prices
/// and volume, in the whole picture's own shape. A short base is shown larger.
std::string view_beside(const Candidate& one, const Scale& scale) {
  constexpr double kBefore = 60, kLeast = (kVolume.bottom + 6 - kPrices.top + 16) * kWidth / kHeight;
  const double x = std::clamp(scale.x(one.base.peak - one.first) - kBefore, 0.0, kWidth - kLeast);
  const double wide = kWidth - x, high = wide * kHeight / kWidth, y = std::min(kPrices.top - 16, kHeight - high);
  return fmt::format("<view id=\"beside\" viewBox=\"{:.0f} {:.0f} {:.0f} {:.0f}\"/>\n", x, y, wide, high);
}

}  // namespace

std::string base_picture(const Candidate& one, double range) {
  if (one.bars.size() < 2) return {};
  const double pivot = one.facts.pivot.as_double(), top = pivot * (1 + range / 100);
  const Scale scale = scale_for(kPrices, one.bars, pivot, top, 0.14);
  const std::size_t skip = one.bars.size() > 300 ? 3 : one.bars.size() > 180 ? 2 : 1;
  const std::string name =
      one.symbol + ", " + std::string(to_string(one.facts.kind)) + ", pivot " + to_string(one.facts.pivot);
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {:.0f} {:.0f}\" width=\"{:.0f}\" "
      "height=\"{:.0f}\" font-family=\"sans-serif\" role=\"img\">\n",
      kWidth, kHeight, kWidth, kHeight);
  out += svg::style_for_dark() + "<title>" + escape_markup(name) + "</title>\n" + view_beside(one, scale) +
         "<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n";
  out += price_grid(scale, 8, {scale.y(pivot), scale.y(top)}) +
         month_grid(one.bars, scale, {kPrices.top, kStrength.bottom}, kPrices.bottom + 10, skip) +
         pivot_and_range(one, scale, range) + price_bars(one.bars, scale) + volume_bars(one, scale) +
         strength_panel(one, scale) + marks(one, scale) + week_panel(one) + caption(one);
  return out + "</svg>\n";
}

}  // namespace brimwatch
