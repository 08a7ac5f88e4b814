#include "weekend/picture.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "core/shares.h"
#include "core/text.h"

namespace brimwatch {
namespace {

constexpr const char* kInk = "#222222";
constexpr const char* kFaint = "#d9d9d9";
constexpr const char* kBlue = "#0072B2";
constexpr const char* kSky = "#56B4E9";
constexpr const char* kOrange = "#D55E00";
constexpr const char* kGreen = "#009E73";
constexpr const char* kPurple = "#CC79A7";

constexpr double kWidth = 960, kLeft = 16, kRight = 856;
constexpr double kPriceTop = 80, kPriceBottom = 390, kVolumeTop = 412, kVolumeBottom = 500, kLineTop = 522,
                 kLineBottom = 572;

template <typename... Args>
std::string say(const char* format, Args... args) {
  char text[400];
  std::snprintf(text, sizeof text, format, args...);
  return text;
}

std::string words(double x, double y, int size, const char* colour, std::string_view anchor, std::string_view text) {
  const std::string head =
      say("<text x=\"%.1f\" y=\"%.1f\" font-size=\"%d\" fill=\"%s\" text-anchor=\"", x, y, size, colour);
  return head + std::string(anchor) + "\">" + escape_markup(text) + "</text>\n";
}

std::string line(double x1, double y1, double x2, double y2, const char* colour, double width,
                 const char* dash = "none") {
  return say(
      "<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" stroke=\"%s\" stroke-width=\"%.1f\" "
      "stroke-dasharray=\"%s\"/>\n",
      x1, y1, x2, y2, colour, width, dash);
}

/// From values to places on the paper; prices on a log scale.
struct Paper {
  std::size_t count = 0;
  double low = 0, high = 0;  // logs

  [[nodiscard]] double x(double i) const { return kLeft + (kRight - kLeft) * (i + 0.5) / static_cast<double>(count); }
  [[nodiscard]] double y(double price) const {
    return kPriceBottom - (kPriceBottom - kPriceTop) * (std::log(price) - low) / (high - low);
  }
};

Paper paper_for(const Candidate& one, double range) {
  double low = one.facts.pivot.as_double(), high = low * (1 + range / 100);
  for (const DayBar& bar : one.bars) {
    low = std::min(low, bar.low.as_double());
    high = std::max(high, bar.high.as_double());
  }
  const double room = std::log(high / low);  // for the labels of marks, which stand above highs and under lows
  return {one.bars.size(), std::log(low) - 0.10 * room, std::log(high) + 0.10 * room};
}

/// 1, 2 or 5 times a power of ten: about eight lines on the paper.
double round_step(double span) {
  const double raw = span / 8, power = std::pow(10, std::floor(std::log10(raw)));
  const double lead = raw / power;
  return power * (lead <= 1 ? 1 : lead <= 2 ? 2 : lead <= 5 ? 5 : 10);
}

std::string grid(const Candidate& one, const Paper& paper) {
  std::string out;
  const double low = std::exp(paper.low), high = std::exp(paper.high), step = round_step(high - low);
  for (double price = std::ceil(low / step) * step; price < high; price += step) {
    out += line(kLeft, paper.y(price), kRight, paper.y(price), kFaint, 1);
    if (std::abs(paper.y(price) - paper.y(one.facts.pivot.as_double())) < 14)
      continue;  // the pivot's own label stands there
    out += words(kRight + 6, paper.y(price) + 4, 11, kInk, "start", say(step < 1 ? "%.2f" : "%.0f", price));
  }
  const std::size_t skip = one.bars.size() > 300 ? 3 : one.bars.size() > 180 ? 2 : 1;
  static constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                            "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  for (std::size_t i = 1; i < one.bars.size(); ++i) {
    const auto now = one.bars[i].day.ymd();
    const unsigned month = static_cast<unsigned>(now.month());
    if (now.month() == one.bars[i - 1].day.ymd().month() || (month - 1) % skip != 0) continue;
    const double x = paper.x(static_cast<double>(i));
    out += line(x, kPriceTop, x, kLineBottom, kFaint, 1);
    const std::string name = month == 1 ? std::to_string(static_cast<int>(now.year())) : kMonths[month - 1];
    out += words(x + 3, kLineBottom + 14, 11, kInk, "start", name);
  }
  return out;
}

std::string price_band(const Candidate& one, const Paper& paper) {
  std::string top, bottom, closes;
  const std::size_t count = one.bars.size();
  for (std::size_t i = 0; i < count; ++i) {
    const double x = paper.x(static_cast<double>(i));
    top += say("%.1f,%.1f ", x, paper.y(one.bars[i].high.as_double()));
    closes += say("%.1f,%.1f ", x, paper.y(one.bars[i].close.as_double()));
    const std::size_t back = count - 1 - i;
    bottom += say("%.1f,%.1f ", paper.x(static_cast<double>(back)), paper.y(one.bars[back].low.as_double()));
  }
  return std::string("<polygon fill=\"") + kSky + "\" fill-opacity=\"0.35\" points=\"" + top + bottom +
         "\"/>\n<polyline fill=\"none\" stroke=\"" + kBlue + "\" stroke-width=\"1.6\" points=\"" + closes + "\"/>\n";
}

std::string pivot_lines(const Candidate& one, const Paper& paper, double range) {
  const double pivot = one.facts.pivot.as_double(), top = pivot * (1 + range / 100);
  const double from = paper.x(one.base.peak - one.first);
  std::string out =
      say("<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" fill=\"%s\" fill-opacity=\"0.18\"/>\n", from,
          paper.y(top), kRight - from, paper.y(pivot) - paper.y(top), kGreen);
  out += line(from, paper.y(pivot), kRight, paper.y(pivot), kGreen, 2);
  return out + words(kRight + 6, paper.y(pivot) + 4, 12, kGreen, "start", "pivot " + to_string(one.facts.pivot));
}

std::string marks(const Candidate& one, const Paper& paper) {
  std::string out;
  for (const Point& point : one.facts.points) {
    const int at = last_bar_by(one.bars, point.day);
    const double x = paper.x(at), y = paper.y(point.price.as_double());
    const bool is_high = one.bars[static_cast<std::size_t>(at)].high == point.price;
    out +=
        say("<circle cx=\"%.1f\" cy=\"%.1f\" r=\"5\" fill=\"white\" stroke=\"%s\" stroke-width=\"2\"/>\n", x, y, kOrange);
    const double label_x = std::clamp(x, kLeft + 60, kRight - 60);
    const double label_y = is_high ? y - 24 : y + 20;
    out += words(label_x, label_y, 12, kOrange, "middle", point.name);
    out += words(label_x, label_y + 13, 11, kInk, "middle", to_string(point.price));
  }
  return out;
}

std::string volume_bars(const Candidate& one, const Paper& paper) {
  double most = one.facts.normal_volume * 2;
  for (const DayBar& bar : one.bars) most = std::max(most, bar.volume);
  std::string out;
  if (most <= 0) return out;
  const double wide = std::max(1.0, 0.7 * (kRight - kLeft) / static_cast<double>(paper.count));
  const auto y = [&](double volume) { return kVolumeBottom - (kVolumeBottom - kVolumeTop) * volume / most; };
  for (std::size_t i = 0; i < one.bars.size(); ++i) {
    const bool up = i > 0 && one.bars[i].close > one.bars[i - 1].close;
    out += say("<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" fill=\"%s\"/>\n",
               paper.x(static_cast<double>(i)) - wide / 2, y(one.bars[i].volume), wide,
               kVolumeBottom - y(one.bars[i].volume), up ? kBlue : "#999999");
  }
  out += line(kLeft, y(one.facts.normal_volume), kRight, y(one.facts.normal_volume), kOrange, 1.2, "5 3");
  out +=
      words(kRight + 6, y(one.facts.normal_volume) + 4, 11, kOrange, "start", "normal " + brief(one.facts.normal_volume));
  return out + words(kLeft, kVolumeTop - 6, 11, kInk, "start", "volume; blue: the close rose");
}

std::string strength_panel(const Candidate& one, const Paper& paper) {
  double low = 0, high = 0;
  for (const double value : one.line) {
    if (value <= 0) continue;
    low = low == 0 ? value : std::min(low, value);
    high = std::max(high, value);
  }
  if (!(high > low)) return {};
  std::string points;
  for (std::size_t i = 0; i < one.line.size(); ++i) {
    if (one.line[i] <= 0) continue;
    points += say("%.1f,%.1f ", paper.x(static_cast<double>(i)),
                  kLineBottom - (kLineBottom - kLineTop) * (one.line[i] - low) / (high - low));
  }
  return std::string("<polyline fill=\"none\" stroke=\"") + kPurple + "\" stroke-width=\"1.6\" points=\"" + points +
         "\"/>\n" + words(kLeft, kLineTop - 6, 11, kInk, "start", "relative strength line: close / index");
}

std::string caption(const Candidate& one) {
  const Facts& f = one.facts;
  std::string out = words(kLeft, 26, 18, kInk, "start",
                          one.symbol + ": " + std::string(to_string(f.kind)) + ", pivot " + to_string(f.pivot));
  out +=
      words(kLeft, 46, 12, kInk, "start",
            say("%.0f %% deep, %.1f weeks, rose %.0f %% before; last close %s on %s, pivot %.1f %% away", f.depth,
                f.length / 5.0, f.prior_rise, to_string(f.last_close).c_str(), to_string(f.as_of).c_str(), f.to_pivot));
  std::string broken;
  for (const RuleResult& rule : one.judgement.rules) {
    if (rule.verdict == Verdict::broken) broken += (broken.empty() ? "" : ", ") + std::string(rule.name);
  }
  out += words(kLeft, 62, 12, broken.empty() ? kGreen : kOrange, "start",
               say("score %.0f; ", one.judgement.score) + (broken.empty() ? "every rule kept" : "broken: " + broken));
  return out;
}

}  // namespace

std::string base_picture(const Candidate& one, double range) {
  if (one.bars.size() < 2) return {};
  const Paper paper = paper_for(one, range);
  const double height = kLineBottom + 24;
  std::string out =
      say("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %.0f %.0f\" width=\"%.0f\" height=\"%.0f\" "
          "font-family=\"sans-serif\" role=\"img\">\n",
          kWidth, height, kWidth, height);
  out += "<title>" +
         escape_markup(one.symbol + ", " + std::string(to_string(one.facts.kind)) + ", pivot " +
                       to_string(one.facts.pivot)) +
         "</title>\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n";
  out += grid(one, paper) + pivot_lines(one, paper, range) + price_band(one, paper) + volume_bars(one, paper) +
         strength_panel(one, paper) + marks(one, paper) + caption(one);
  return out + "</svg>\n";
}

}  // namespace brimwatch
