#include "app/review_pictures.h"

#include <algorithm>

#include "adapters/channels/crypto.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr int kDrawnBefore = 60, kDrawnAfter = 20;

/// Data in an attribute: letters of one picture's markup cannot meet those of another.
std::string data_of(const std::string& svg) { return "data:image/svg+xml;base64," + base64(svg); }

std::string in_page(const std::string& light, const std::string& dark, const std::string& words) {
  if (light.empty()) return {};
  return "<picture><source media=\"(prefers-color-scheme: dark)\" srcset=\"" + data_of(dark) + "\"><img src=\"" +
         data_of(light) + "\" alt=\"" + escape_markup(clean_line(words)) + "\"></picture>\n";
}

}  // namespace

DaysPicture days_around(const Crossing& one, const std::vector<DailyBar>& bars) {
  const Notice& said = one.said.notice;
  DaysPicture out;
  out.title = one.said.symbol + ", " + to_string(said.day);
  const int at = last_bar_by(bars, said.day);
  const bool has_day = at >= 0 && bars[static_cast<std::size_t>(at)].day == said.day;
  const int first = std::max(0, at - kDrawnBefore), last = std::min(static_cast<int>(bars.size()) - 1, at + kDrawnAfter);
  for (int i = first; i <= last; ++i) {
    const DailyBar& bar = bars[static_cast<std::size_t>(i)];
    out.days.push_back({bar.day, bar.low.as_double(), bar.high.as_double(), bar.close.as_double(), bar.volume});
  }
  out.marked = has_day ? static_cast<std::size_t>(at - first) : out.days.size();
  out.marked_price = said.price.as_double();
  out.pivot = said.pivot.as_double();
  out.range_top = said.range_top.as_double();
  out.loss_limit = said.loss_limit.as_double();
  out.normal = said.volume.normal.as_double() / part_of_tape(said.volume);  // the bars are of the whole tape
  return out;
}

std::vector<OddsPoint> odds_points(const Reliability& reliability) {
  std::vector<OddsPoint> out;
  for (const ReliabilityRow& row : reliability.rows) out.push_back({row.said, row.share, row.low, row.high, row.count});
  return out;
}

std::string words_for_odds(const Reliability& reliability) {
  return "Odds said against what came true: " + describe_drift(reliability);
}

std::string words_for(const Crossing& one) {
  const Notice& said = one.said.notice;
  return one.said.symbol + " around " + to_string(said.day) + ": pivot " + to_string(said.pivot) + ", crossed at " +
         to_string(said.price);
}

PagePictures pictures_in_page() {
  PagePictures out;
  out.odds = [](const Reliability& r) {
    const auto points = odds_points(r);
    return in_page(odds_svg(points), odds_svg(points, PictureStyle::dark), words_for_odds(r));
  };
  out.crossing = [](const Crossing& one, const std::vector<DailyBar>& bars) {
    const DaysPicture days = days_around(one, bars);
    return in_page(days_svg(days), days_svg(days, PictureStyle::dark), words_for(one));
  };
  return out;
}

}  // namespace brimwatch
