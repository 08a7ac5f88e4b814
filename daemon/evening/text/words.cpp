// A review in plain text: the terminal, and the body of an evening's mail.
#include <cstdio>

#include "core/shares.h"
#include "core/text/text.h"
#include "core/wording.h"
#include "evening/deeds.h"
#include "evening/review.h"
#include "evening/text/say.h"

namespace brimwatch {
namespace {

std::string line(const std::string& text, std::size_t indent) {
  return wrap(std::string(indent, ' ') + text, kReviewWidth, indent + 2) + "\n";
}

std::string crossing_words(const Crossing& one) {
  const Notice& said = one.said.notice;
  const char* what = said.kind == NoticeKind::opened_over ? "opened over the range" : "crossed";
  std::string head = to_string(said.day) + " " + to_clock(said.time, one.said.offset) + "  " +
                     clean_line(one.said.symbol, 24) + " " + what + ", pivot " + to_string(said.pivot) + " at " +
                     to_string(said.price);
  if (const std::string weight = weight_text(said.volume); !weight.empty()) head += "; " + weight;
  if (!one.speaker.empty()) head += "; said by " + clean_line(one.speaker, 32);
  std::string out = line(head, 0);
  if (!one.adjusted.empty()) out += line("in today's terms, after the " + one.adjusted, 4);
  if (!one.doubt.empty()) out += line(doubt_text(one), 4);
  out += line(volume_text(one), 4);
  if (const std::string counted = counted_in_words(one); !counted.empty()) out += line(counted, 4);
  return out + line(close_text(one), 4) + line(after_text(one), 4) + line(follow_text(one), 4);
}

std::string weights_words(const Review& review) {
  std::string out = "By weight at the crossing (with 95 % intervals):\n";
  for (const WeightGroup& group : review.weights) {
    if (group.count == 0) continue;
    out += line(std::string(to_string(group.weight)) + ", " + count_text(group.count, "crossing") + ": volume came in " +
                    share_text(group.came) + "; closed at or above the pivot: " + share_text(group.held),
                2);
  }
  if (review.with_interval > 0) {
    out += line("the day's volume fell into the 80 % interval that was said in " + std::to_string(review.in_interval) +
                    " of " + std::to_string(review.with_interval),
                2);
  }
  return out;
}

std::string odds_row(const ReliabilityRow& row) {
  char text[100];
  std::snprintf(text, sizeof text, "  %.1f to %.1f    %5s   %.2f (%d of %d; likely %.2f to %.2f)\n", row.from, row.to,
                odds_text(row.said, Weight::unknown).c_str(), row.share, row.came_true, row.count, row.low, row.high);
  return text;
}

std::string followed_words(const Review& review) {
  std::string out = line("Following the notices' own rules, " + percent_text(review.options.cost_percent, 2).substr(1) +
                             " cost for each of two trades, no hindsight:",
                         0);
  const auto lines = followed_lines(review);
  if (lines.empty()) out += line("nothing would have been bought", 2);
  for (const std::string& one : lines) out += line(one, 2);
  return out + line("A price one gets is seldom the notice's; what was is no promise.", 2);
}

std::string deeds_words(const Review& review) {
  if (review.deeds.empty()) return {};
  std::string out = "What you did beside what was told:\n";
  for (const Deed& deed : review.deeds) out += line(deed_text(deed), 2);
  return out + "\n";
}

std::string troubles_words(const Review& review) {
  if (review.troubles.empty()) return {};
  std::string out = "Missed, late or undelivered:\n";
  for (const DayTrouble& trouble : review.troubles) {
    const std::string channel = trouble.channel.empty() ? "" : trouble.channel + ": ";
    out += line(to_string(trouble.day) + "  " + clean_line(trouble.symbol, 24) + "  " +
                    std::string(to_string(trouble.kind)) + "  " + clean_line(channel + trouble.why, 400),
                2);
  }
  return out;
}

}  // namespace

std::string counted_in_words(const Crossing& one) {
  const VolumeView& said = one.said.notice.volume;
  const double part = part_of_tape(said);
  const bool has_volume = one.volume || said.weight != Weight::unknown;
  if (part == 1 || !has_volume) return {};
  std::string out = "counted on a feed that carries about " + percent_text(100 * part, 1).substr(1) + " of the market";
  if (one.official) out += "; the whole market had " + brief(*one.volume / part);
  return out;
}

std::string odds_in_words(const Review& review) {
  const Reliability& r = review.reliability;
  if (r.count == 0) return {};
  std::string out = "Were the odds right?\n  odds          said   came true\n";
  for (const ReliabilityRow& row : r.rows) {
    if (row.count > 0) out += odds_row(row);
  }
  return out + line(describe_drift(r), 2);
}

/// ", 3 held back for a falling market"; empty where there are none.
std::string held_back_words(const Review& review) {
  return review.held_back == 0 ? "" : ", " + std::to_string(review.held_back) + " held back for a falling market";
}

std::string in_words(const Review& review) {
  const ReviewOptions& span = review.options;
  std::string out = "Review of " + to_string(span.from);
  if (span.to != span.from) out += " to " + to_string(span.to);
  out += ": " + count_text(review.notices, "notice") + ", " +
         count_text(static_cast<int>(review.crossings.size()), "crossing") + held_back_words(review) +
         ". Information, not advice.\n";
  for (const std::string& one : sum_lines(review)) out += line(one, 2);
  out += "\n";
  for (const Crossing& one : review.crossings) out += crossing_words(one) + "\n";
  if (!review.crossings.empty())
    out += weights_words(review) + "\n" + odds_in_words(review) + crossing_odds_in_words(review) + "\n" +
           followed_words(review) + "\n";
  return out + deeds_words(review) + troubles_words(review);
}

}  // namespace brimwatch
