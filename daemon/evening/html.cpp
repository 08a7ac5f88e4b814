// A review as one page: no script, nothing loaded from elsewhere, readable on paper. Colours of Okabe and Ito (2008).
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "core/shares.h"
#include "core/text.h"
#include "evening/review.h"

namespace brimwatch {
namespace {

constexpr const char* kBlue = "#0072B2";
constexpr const char* kOrange = "#D55E00";
constexpr const char* kGreen = "#009E73";
constexpr int kBarsBefore = 40, kBarsAfter = 20;
constexpr const char* kSpanWords[] = {"1 session after", "5 sessions after", "20 sessions after"};

template <typename... Args>
std::string say(const char* format, Args... args) {
  char text[400];
  std::snprintf(text, sizeof text, format, args...);
  return text;
}

std::string escaped(std::string_view text) { return escape_markup(clean_line(text, 400)); }

constexpr const char* kPolicy =
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n";

constexpr std::string_view kHead =
    "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" "
    "content=\"width=device-width\">\n"
    "%s<style>body{font:15px/1.45 sans-serif;color:#222;max-width:60em;margin:2em auto;padding:0 1em}"
    "h1{font-size:1.5em}h2{font-size:1.15em;margin-top:2em}table{border-collapse:collapse}"
    "th,td{text-align:left;padding:.25em .9em .25em 0;border-bottom:1px solid #ddd;vertical-align:top}"
    "article{border-top:1px solid #bbb;padding:1em 0;display:flex;flex-wrap:wrap;gap:1.5em}article div{flex:1 1 22em}"
    "p{margin:.3em 0}.yes{color:#00694d}.no{color:#a34700}.small{color:#555;font-size:.9em}</style>\n";

/// What was said across, what came true upwards; the diagonal is what honest odds look like.
std::string odds_picture(const Reliability& r) {
  constexpr double kSize = 300, kEdge = 40;
  const auto x = [&](double p) { return kEdge + p * (kSize - 2 * kEdge); };
  const auto y = [&](double p) { return kSize - kEdge - p * (kSize - 2 * kEdge); };
  std::string out = say(
      "<svg width=\"%.0f\" height=\"%.0f\" role=\"img\" font-size=\"11\"><title>Odds said against what came true</title>"
      "<rect x=\"%.0f\" y=\"%.0f\" width=\"%.0f\" height=\"%.0f\" fill=\"none\" stroke=\"#999\"/>"
      "<line x1=\"%.0f\" y1=\"%.0f\" x2=\"%.0f\" y2=\"%.0f\" stroke=\"#999\" stroke-dasharray=\"4 3\"/>",
      kSize, kSize, x(0), y(1), x(1) - x(0), y(0) - y(1), x(0), y(0), x(1), y(1));
  for (const ReliabilityRow& row : r.rows) {
    if (row.count == 0) continue;
    out += say("<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" stroke=\"%s\" stroke-width=\"2\"/>", x(row.said),
               y(row.low), x(row.said), y(row.high), kBlue);
    out += say("<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" fill=\"%s\"/>", x(row.said), y(row.share),
               3 + std::min(6.0, std::sqrt(row.count)), kBlue);
  }
  for (const double p : {0.0, 0.5, 1.0}) {
    out +=
        say("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%.1f</text><text x=\"%.1f\" y=\"%.1f\" "
            "text-anchor=\"end\">%.1f</text>",
            x(p), y(0) + 14, p, x(0) - 4, y(p) + 4, p);
  }
  return out + say("<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">odds said</text><text x=\"%.1f\" y=\"%.1f\">came "
                   "true</text></svg>\n",
                   kSize / 2, kSize - 6, x(0), y(1) - 8);
}

std::string odds_table(const Reliability& r) {
  std::string out = "<table><tr><th>odds<th>said<th>came true<th>of<th>likely</tr>\n";
  for (const ReliabilityRow& row : r.rows) {
    if (row.count == 0) continue;
    out += say("<tr><td>%.1f to %.1f<td>%.2f<td>%.2f<td>%d<td>%.2f to %.2f</tr>\n", row.from, row.to, row.said, row.share,
               row.count, row.low, row.high);
  }
  return out + "</table>";
}

/// The days around a crossing: a band from low to high with the close, the pivot, the range, the loss limit.
std::string crossing_picture(const Crossing& one, const std::vector<DayBar>& bars) {
  const Notice& said = one.said.notice;
  const int at = last_bar_by(bars, said.day);
  const int from = std::max(0, at - kBarsBefore), to = std::min(static_cast<int>(bars.size()) - 1, at + kBarsAfter);
  if (at < 0 || to - from < 5) return {};
  double low = said.loss_limit.is_set() ? said.loss_limit.as_double() : said.pivot.as_double(),
         high = said.range_top.as_double();
  for (int i = from; i <= to; ++i) {
    low = std::min(low, bars[static_cast<std::size_t>(i)].low.as_double());
    high = std::max(high, bars[static_cast<std::size_t>(i)].high.as_double());
  }
  constexpr double kWide = 420, kHigh = 180, kRoom = 60;
  const auto x = [&](int i) { return 4 + (kWide - kRoom - 8) * (i - from) / (to - from); };
  const auto y = [&](double p) { return 6 + (kHigh - 12) * (high - p) / (high - low); };
  std::string top, bottom, closes;
  for (int i = from; i <= to; ++i) {
    const DayBar& bar = bars[static_cast<std::size_t>(i)];
    top += say("%.1f,%.1f ", x(i), y(bar.high.as_double()));
    bottom.insert(0, say("%.1f,%.1f ", x(i), y(bar.low.as_double())));
    closes += say("%.1f,%.1f ", x(i), y(bar.close.as_double()));
  }
  const double pivot = y(said.pivot.as_double()), range = y(said.range_top.as_double());
  std::string out = say("<svg width=\"%.0f\" height=\"%.0f\" role=\"img\" font-size=\"11\"><title>%s around %s</title>",
                        kWide, kHigh, escaped(one.said.symbol).c_str(), to_string(said.day).c_str());
  out += say("<rect x=\"4\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" fill=\"%s\" fill-opacity=\".16\"/>", range,
             kWide - kRoom - 8, std::max(0.0, pivot - range), kGreen);
  out += "<polygon fill=\"#56B4E9\" fill-opacity=\".35\" points=\"" + top + bottom +
         "\"/><polyline fill=\"none\" stroke=\"#0072B2\" "
         "stroke-width=\"1.6\" points=\"" +
         closes + "\"/>";
  const auto level = [&](Price price, const char* colour, const char* name) {
    if (!price.is_set()) return std::string();
    return say(
        "<line x1=\"4\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" stroke=\"%s\"/><text x=\"%.1f\" y=\"%.1f\" fill=\"%s\">%s "
        "%s</text>",
        y(price.as_double()), kWide - kRoom - 4, y(price.as_double()), colour, kWide - kRoom, y(price.as_double()) + 4,
        colour, name, to_string(price).c_str());
  };
  out += level(said.pivot, kGreen, "") + level(said.loss_limit, kOrange, "");
  return out + say("<circle cx=\"%.1f\" cy=\"%.1f\" r=\"4.5\" fill=\"white\" stroke=\"%s\" stroke-width=\"2\"/></svg>",
                   x(at), y(said.price.as_double()), kOrange);
}

std::string share_cell(int hits, int count, const Interval& between) {
  if (count == 0) return "<td>none decided</td>";
  return say("<td>%d of %d (%.0f %%, likely %.0f to %.0f)</td>", hits, count, 100.0 * hits / count, 100 * between.low,
             100 * between.high);
}

std::string weights_table(const Review& review) {
  std::string out =
      "<h2>By weight at the crossing</h2><table><tr><th>weight<th>crossings<th>volume came<th>closed at or above the "
      "pivot</tr>\n";
  for (const WeightGroup& g : review.weights) {
    if (g.count == 0) continue;
    out += "<tr><td>" + std::string(to_string(g.weight)) + say("<td>%d</td>", g.count) +
           share_cell(g.came, g.decided, g.came_between) + share_cell(g.held_pivot, g.closed_known, g.held_between) +
           "</tr>\n";
  }
  return out + "</table><p class=\"small\">Intervals: 95 %, Wilson.</p>\n";
}

std::string followed_part(const Review& review) {
  const FollowSummary& f = review.followed;
  std::string out =
      say("<h2>Following the notices' own rules</h2><p>%d purchases, %d ended, %d of them higher, %d at the loss limit, "
          "%d still held.",
          f.taken, f.closed, f.won, f.at_limit, f.held);
  if (f.closed > 0)
    out += say(" Mean %+.1f %%, median %+.1f %%, from %+.1f to %+.1f %%.", f.mean, f.median, f.worst, f.best);
  return out + say("</p><p class=\"small\">Costs of %.2f %% for each of two trades; no hindsight. A price one gets is "
                   "seldom the notice's; what "
                   "was is no promise.</p>\n",
                   review.options.cost_percent);
}

std::string picture_of(const Crossing& one, const ReviewInput& input, const PagePictures* pictures) {
  const auto bars = input.bars.find(one.said.symbol);
  if (bars == input.bars.end()) return {};
  return pictures != nullptr ? pictures->crossing(one, bars->second) : crossing_picture(one, bars->second);
}

std::string crossing_part(const Crossing& one, const ReviewInput& input, const PagePictures* pictures) {
  const Notice& said = one.said.notice;
  std::string out = "<article><div><p><b>" + escaped(one.said.symbol) + "</b> " + to_string(said.day) + " " +
                    to_clock(said.time, one.said.offset) + ", pivot " + to_string(said.pivot) + " at " +
                    to_string(said.price);
  if (said.volume.weight != Weight::unknown)
    out += say(", %s, odds %.2f", std::string(to_string(said.volume.weight)).c_str(), said.volume.odds);
  out += "</p>";
  if (!one.adjusted.empty()) out += "<p class=\"small\">In today's terms, after the " + escaped(one.adjusted) + "</p>";
  if (one.surge) {
    out += say("<p class=\"%s\">Volume: said %s, came %s, %+.0f %% (needed %+.0f %%)</p>", *one.came ? "yes" : "no",
               brief(said.volume.projected).c_str(), brief(*one.volume).c_str(), *one.surge, said.volume.needed);
    if (const std::string counted = counted_in_words(one); !counted.empty())
      out += "<p class=\"small\">Volumes are " + escaped(counted) + "</p>";
  }
  if (one.close) {
    out +=
        say("<p class=\"%s\">Closed %s, %s</p>", one.closed == Side::under ? "no" : "yes", to_string(*one.close).c_str(),
            one.closed == Side::under  ? "under the pivot"
            : one.closed == Side::over ? "above the range"
                                       : "inside the range");
  }
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    if (one.after[i]) out += say("<p>%s: %+.1f to %+.1f %%</p>", kSpanWords[i], one.after[i]->fall, one.after[i]->rise);
  }
  const Followed& f = one.followed;
  out += f.taken ? say("<p>Followed: %s to %s, %+.1f %%%s</p>", to_string(f.bought).c_str(), to_string(f.sold).c_str(),
                       f.result, f.held ? " so far" : "")
                 : "<p>Not followed: " + escaped(f.why) + "</p>";
  if (!one.said.note.empty()) out += "<p class=\"small\">" + escaped(one.said.note) + "</p>";
  return out + "</div>" + picture_of(one, input, pictures) + "</article>\n";
}

std::string troubles_part(const Review& review) {
  if (review.troubles.empty())
    return "<h2>Missed, late, undelivered</h2><p>Nothing that the journal or the bars know of.</p>\n";
  std::string out = "<h2>Missed, late, undelivered</h2><table><tr><th>day<th>symbol<th>what<th>why</tr>\n";
  for (const DayTrouble& t : review.troubles) {
    out += "<tr><td>" + to_string(t.day) + "<td>" + escaped(t.symbol) + "<td>" + std::string(to_string(t.kind)) + "<td>" +
           escaped((t.channel.empty() ? "" : t.channel + ": ") + t.why) + "</tr>\n";
  }
  return out + "</table>\n";
}

}  // namespace

std::string to_html(const Review& review, const ReviewInput& input, const PagePictures* pictures,
                    const std::string& more) {
  const std::string days = to_string(review.options.from) +
                           (review.options.from == review.options.to ? "" : " to " + to_string(review.options.to));
  std::string out(kHead);
  out.replace(out.find("%s"), 2, pictures == nullptr ? kPolicy : "");
  out += "<title>Review of " + days + "</title></head><body><h1>Review of " + days + "</h1>";
  out += say("<p>%d notices, %d crossings. Information, not advice.</p>\n", review.notices,
             static_cast<int>(review.crossings.size()));
  if (!review.crossings.empty()) {
    out += weights_table(review);
    if (review.reliability.count > 0) {
      out += "<h2>Were the odds right?</h2>" +
             (pictures != nullptr ? pictures->odds(review.reliability) : odds_picture(review.reliability)) +
             odds_table(review.reliability) + "<p>" + escaped(describe_drift(review.reliability)) + "</p>\n";
    }
    out += followed_part(review) + more + "<h2>Each crossing</h2>\n";
    for (const Crossing& one : review.crossings) out += crossing_part(one, input, pictures);
  } else {
    out += more;
  }
  return out + troubles_part(review) + "</body></html>\n";
}

}  // namespace brimwatch
