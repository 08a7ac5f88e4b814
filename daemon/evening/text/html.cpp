// A review as one page. Pictures come from whoever makes the page.
#include "core/shares.h"
#include "core/text/text.h"
#include "core/wording.h"
#include "evening/crossing_odds.h"
#include "evening/deeds.h"
#include "evening/lookup.h"
#include "evening/review.h"
#include "evening/text/page.h"
#include "evening/text/say.h"

namespace brimwatch {
namespace {

std::string escaped(std::string_view text) { return escape_markup(clean_line(text, 400)); }

std::string paragraph(const std::string& text, const char* look = nullptr) {
  if (text.empty()) return {};
  return (look != nullptr ? "<p class=\"" + std::string(look) + "\">" : std::string("<p>")) + escaped(text) + "</p>\n";
}

std::string list_of(const std::vector<std::string>& lines) {
  std::string out = "<ul>";
  for (const std::string& line : lines) out += "<li>" + escaped(line) + "\n";
  return out + "</ul>\n";
}

std::string two_decimals(double value) {
  const std::string percent = percent_text(value, 2);
  return percent.substr(1, percent.size() - 3);
}

std::string odds_table(const Reliability& r) {
  std::string out = "<table><tr><th>odds<th>said<th>came true<th>of<th>likely</tr>\n";
  for (const ReliabilityRow& row : r.rows) {
    if (row.count == 0) continue;
    out += "<tr><td>" + two_decimals(row.from) + " to " + two_decimals(row.to) + "<td>" +
           escaped(odds_text(row.said, Weight::unknown)) + "<td>" + two_decimals(row.share) + "<td>" +
           std::to_string(row.count) + "<td>" + two_decimals(row.low) + " to " + two_decimals(row.high) + "</tr>\n";
  }
  return out + "</table>";
}

std::string weights_table(const Review& review) {
  std::string out =
      "<h2>By weight at the crossing</h2><table><tr><th>weight<th>crossings<th>volume came<th>closed at or above the "
      "pivot</tr>\n";
  for (const WeightGroup& g : review.weights) {
    if (g.count == 0) continue;
    out += "<tr><td>" + std::string(to_string(g.weight)) + "<td>" + std::to_string(g.count) + "<td>" +
           escaped(share_text(g.came)) + "<td>" + escaped(share_text(g.held)) + "</tr>\n";
  }
  return out + "</table><p class=\"small\">Intervals: 95 %; crossings of one month count as partly alike.</p>\n";
}

std::string band_row(const std::string& what, const OddsBand& band) {
  return "<tr><td>" + escaped(what) + "<td>" + escaped(odds_text(band.said, Weight::unknown)) + "<td>" +
         escaped(share_text(band.came)) + "</tr>\n";
}

std::string at_crossings_part(const OddsAtCrossings& odds) {
  if (odds.by_minute.empty()) return {};
  std::string out = "<h2>By the time of the crossing, and by the opening gap</h2><table><tr><th><th>said<th>came</tr>\n";
  for (const OddsBand& band : odds.by_minute) out += band_row(minute_text(band), band);
  for (const OddsBand& band : odds.by_gap) out += band_row(gap_text(band), band);
  out += "</table>\n";
  if (odds.unknown > 0)
    out += paragraph(count_text(odds.unknown, "crossing") + " of an older journal, which does not say either", "small");
  return out + paragraph(own_text(odds), "small");
}

std::string odds_part(const Review& review, const PagePictures& pictures) {
  if (review.reliability.count == 0) return {};
  return "<h2>Were the odds right?</h2>" + pictures.odds(review.reliability) + odds_table(review.reliability) +
         paragraph(describe_drift(review.reliability)) + at_crossings_part(review.at_crossings);
}

std::string followed_part(const Review& review) {
  auto lines = followed_lines(review);
  if (lines.empty()) lines.emplace_back("nothing would have been bought");
  return "<h2>Following the notices' own rules</h2>" + list_of(lines) +
         paragraph("Costs of " + percent_text(review.options.cost_percent, 2).substr(1) +
                       " for each of two trades; no hindsight. A price one gets is seldom the notice's; what was is no "
                       "promise.",
                   "small");
}

std::string head_of(const Crossing& one) {
  const Notice& said = one.said.notice;
  std::string out = to_string(said.day) + " " + to_clock(said.time, one.said.offset) + ", " +
                    (said.kind == NoticeKind::opened_over ? "opened over the range" : "crossed") + ", pivot " +
                    to_string(said.pivot) + " at " + to_string(said.price);
  if (const std::string weight = weight_text(said.volume); !weight.empty()) out += "; " + weight;
  if (!one.speaker.empty()) out += "; said by " + one.speaker;
  return "<p><b>" + escaped(one.said.symbol) + "</b> " + escaped(out) + "</p>\n";
}

std::string crossing_part(const Crossing& one, const ReviewInput& input, const PagePictures& pictures) {
  std::string out = "<article><div>" + head_of(one);
  if (!one.adjusted.empty()) out += paragraph("in today's terms, after the " + one.adjusted, "small");
  if (!one.doubt.empty()) out += paragraph(doubt_text(one), "small");
  out += paragraph(volume_text(one), one.came ? (*one.came ? "yes" : "no") : nullptr);
  if (const std::string counted = counted_in_words(one); !counted.empty())
    out += paragraph("volumes are " + counted, "small");
  out += paragraph(close_text(one), one.close ? (one.closed == Side::under ? "no" : "yes") : nullptr);
  out += paragraph(after_text(one)) + paragraph(follow_text(one)) + paragraph(one.said.note, "small") + "</div>";
  const auto* bars = bars_of(input, one.said.symbol);
  return out + (bars != nullptr ? pictures.crossing(one, *bars) : "") + "</article>\n";
}

std::string deeds_part(const Review& review) {
  if (review.deeds.empty()) return {};
  std::vector<std::string> lines;
  for (const Deed& deed : review.deeds) lines.push_back(deed_text(deed));
  return "<h2>What you did beside what was told</h2>" + list_of(lines);
}

std::string troubles_part(const Review& review) {
  if (review.troubles.empty()) return {};
  std::string out = "<h2>Missed, late, undelivered</h2><table><tr><th>day<th>symbol<th>what<th>why</tr>\n";
  for (const DayTrouble& t : review.troubles) {
    out += "<tr><td>" + to_string(t.day) + "<td>" + escaped(t.symbol) + "<td>" + std::string(to_string(t.kind)) + "<td>" +
           escaped((t.channel.empty() ? "" : t.channel + ": ") + t.why) + "</tr>\n";
  }
  return out + "</table>\n";
}

}  // namespace

std::string to_html(const Review& review, const ReviewInput& input, const PagePictures& pictures,
                    const std::string& more) {
  const std::string days = to_string(review.options.from) +
                           (review.options.from == review.options.to ? "" : " to " + to_string(review.options.to));
  std::string out = page_head("Review of " + days);
  out += paragraph(count_text(review.notices, "notice") + ", " +
                   count_text(static_cast<int>(review.crossings.size()), "crossing") + held_back_words(review) +
                   ". Information, not advice.") +
         list_of(sum_lines(review));
  if (!review.crossings.empty()) {
    out +=
        weights_table(review) + odds_part(review, pictures) + followed_part(review) + more + "<h2>Each crossing</h2>\n";
    for (const Crossing& one : review.crossings) out += crossing_part(one, input, pictures);
  } else {
    out += more;
  }
  return out + deeds_part(review) + troubles_part(review) + "</body></html>\n";
}

}  // namespace brimwatch
