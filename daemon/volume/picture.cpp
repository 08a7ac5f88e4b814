#include "volume/picture.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace brimwatch {
namespace {

constexpr int kWidth = 44;
constexpr double kFullBar = 0.22;  // share of the day at the full width

std::string clock_of(int minute) {
  char text[16];
  std::snprintf(text, sizeof text, "%02d:%02d", (570 + minute) / 60, (570 + minute) % 60);
  return text;
}

std::string bar_of(double share, double usual) {
  const auto cells = [](double part) {
    return std::clamp(static_cast<int>(std::lround(kWidth * part / kFullBar)), 0, kWidth);
  };
  std::string bar;
  const int filled = cells(share), mark = std::max(0, cells(usual) - 1);
  for (int i = 0; i < kWidth; ++i) bar += i == mark ? (i < filled ? "┃" : "│") : i < filled ? "━" : " ";
  while (!bar.empty() && bar.back() == ' ') bar.pop_back();
  return bar;
}

std::string row_of(const std::string& label, double share, double usual, double done) {
  char text[64];
  std::snprintf(text, sizeof text, "%-13s %5.1f %%  %5.1f %%  ", label.c_str(), 100 * share, 100 * done);
  return text + bar_of(share, usual) + "\n";
}

std::string heading(const std::string& symbol, const Learned& l) {
  char text[256];
  std::snprintf(text, sizeof text, "%s: curve of %d days%s%s; errors %.2f x the usual width\n", symbol.c_str(), l.days,
                l.last_day.days > 0 ? ", newest " : "", l.last_day.days > 0 ? to_string(l.last_day).c_str() : "",
                l.kappa);
  std::string out = text;
  if (l.ratio_days > 0) {
    std::snprintf(text, sizeof text, "the feed carries %.0f %% of the official volume (median of %d days, +-%.0f %%)\n",
                  100 * l.feed_ratio, l.ratio_days, 100 * l.feed_ratio_sd);
    out += text;
  }
  return out;
}

}  // namespace

std::string draw_curve(const std::string& symbol, const Learned& learned) {
  const Curve& curve = learned.curve.count > 0 ? learned.curve : default_curve();
  const Curve& usual = default_curve();
  std::string out = heading(symbol, learned) + "from-to        share    done    (the upright mark is the default)\n";
  for (int from = 0; from < 390; from += 15) {
    const bool last = from + 15 == 390;
    const double to = last ? 389.9999 : from + 15.0;
    out += row_of(clock_of(from) + "-" + clock_of(from + 15), curve.at(to) - curve.at(from),
                  usual.at(to) - usual.at(from), curve.at(to));
  }
  return out + row_of("closing print", curve.auction, usual.auction, 1);
}

}  // namespace brimwatch
