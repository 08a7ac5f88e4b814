// A review in plain text: the terminal, and the body of an evening's mail.
#include <cmath>
#include <cstdio>

#include "core/shares.h"
#include "evening/review.h"

namespace brimwatch {
namespace {

template <typename... Args>
std::string say(const char* format, Args... args) {
  char text[400];
  std::snprintf(text, sizeof text, format, args...);
  return text;
}

std::string text(std::string_view view) { return std::string(view); }

std::string volume_line(const Crossing& one) {
  const VolumeView& said = one.said.notice.volume;
  if (said.weight == Weight::unknown)
    return "volume was not judged" + (one.volume ? "; the day had " + brief(*one.volume) : std::string());
  std::string out = "volume: said " + brief(said.projected) + " (" + brief(said.low) + "-" + brief(said.high) + "), ";
  if (!one.volume) return out + "the day's is not known";
  out += "came " + brief(*one.volume) + (one.official ? "" : " by the feed's own count");
  if (!one.surge) return out;
  return out +
         say(", %+.0f %%: %s the %+.0f %% needed", *one.surge, *one.came ? "reached" : "did not reach", said.needed);
}

std::string counted_line(const Crossing& one) {
  const std::string counted = counted_in_words(one);
  return counted.empty() ? "" : "    " + counted + "\n";
}

std::string close_line(const Crossing& one) {
  if (!one.close) return "the close is not known";
  const double off = 100 * (one.close->as_double() / one.said.notice.pivot.as_double() - 1);
  const char* where = one.closed == Side::under  ? "under the pivot"
                      : one.closed == Side::over ? "above the range"
                                                 : "inside the range";
  return "closed " + to_string(*one.close) + say(", %+.1f %% from the pivot, %s", off, where);
}

std::string after_line(const Crossing& one) {
  std::string out = "after";
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    out += say("%s %d session%s: ", i > 0 ? ";" : "", kSpans[i], kSpans[i] == 1 ? "" : "s");
    out += one.after[i] ? say("%+.1f to %+.1f %%", one.after[i]->fall, one.after[i]->rise) : "not yet";
  }
  return out;
}

std::string follow_line(const Crossing& one) {
  const Followed& f = one.followed;
  if (!f.taken) return "following its rules: no purchase, " + f.why;
  std::string out = "following its rules: bought at " + to_string(f.bought) + " (" + f.why + "), ";
  const bool no_close = f.sold_on == one.said.notice.day && !one.close;
  if (f.held) {
    return out + (no_close ? "held, no close is known yet" : "held, last close " + to_string(f.sold)) +
           say(": %+.1f %% after costs", f.result);
  }
  return out + "sold " + (f.at_limit ? "at the loss limit, " : "after 20 sessions, ") + to_string(f.sold) + " on " +
         to_string(f.sold_on) + say(": %+.1f %% after costs", f.result);
}

std::string crossing_words(const Crossing& one) {
  const Notice& said = one.said.notice;
  const char* what = said.kind == NoticeKind::opened_over ? "opened over the range" : "crossed";
  std::string out = to_string(said.day) + " " + to_clock(said.time, one.said.offset) + "  " + one.said.symbol + " " +
                    what + ", pivot " + to_string(said.pivot) + " at " + to_string(said.price);
  if (said.volume.weight != Weight::unknown) {
    out += say("; %s, odds %.2f", text(to_string(said.volume.weight)).c_str(), said.volume.odds);
  }
  out += "\n";
  if (!one.adjusted.empty()) out += "    in today's terms, after the " + one.adjusted + "\n";
  out += "    " + volume_line(one) + "\n" + counted_line(one);
  for (const std::string& line : {close_line(one), after_line(one), follow_line(one)}) out += "    " + line + "\n";
  return out;
}

std::string share_text(int hits, int count, const Interval& between) {
  if (count == 0) return "none decided";
  return say("%d of %d (%.0f %%, likely %.0f to %.0f)", hits, count, 100.0 * hits / count, 100 * between.low,
             100 * between.high);
}

std::string weights_words(const Review& review) {
  std::string out = "By weight at the crossing (with 95 % intervals):\n";
  for (const WeightGroup& group : review.weights) {
    if (group.count == 0) continue;
    out += say("  %-10s %3d crossing%s; volume came: %s; closed at or above the pivot: %s\n",
               text(to_string(group.weight)).c_str(), group.count, group.count == 1 ? "" : "s",
               share_text(group.came, group.decided, group.came_between).c_str(),
               share_text(group.held_pivot, group.closed_known, group.held_between).c_str());
  }
  if (review.with_interval > 0) {
    out += say("  the day's volume fell into the 80 %% interval that was said in %d of %d\n", review.in_interval,
               review.with_interval);
  }
  return out;
}

}  // namespace

std::string counted_in_words(const Crossing& one) {
  const VolumeView& said = one.said.notice.volume;
  const double part = part_of_tape(said);
  const bool has_volume = one.volume || said.weight != Weight::unknown;
  if (part == 1 || !has_volume) return {};
  std::string out = say("counted on a feed that carries about %.1f %% of the market", 100 * part);
  if (one.official) out += "; the whole market had " + brief(*one.volume / part);
  return out;
}

std::string odds_in_words(const Review& review) {
  const Reliability& r = review.reliability;
  if (r.count == 0) return {};
  std::string out = "Were the odds right?\n  odds          said   came true\n";
  for (const ReliabilityRow& row : r.rows) {
    if (row.count == 0) continue;
    out += say("  %.1f to %.1f    %.2f   %.2f (%d of %d; likely %.2f to %.2f)\n", row.from, row.to, row.said, row.share,
               row.came_true, row.count, row.low, row.high);
  }
  return out + "  " + describe_drift(r) + "\n";
}

namespace {

std::string followed_words(const Review& review) {
  const FollowSummary& f = review.followed;
  std::string out = say("Following the notices' own rules, %.2f %% cost for each of two trades, no hindsight:\n  ",
                        review.options.cost_percent);
  if (f.taken == 0) return out + "nothing would have been bought\n";
  out += say("%d purchases", f.taken);
  if (f.held > 0) out += say(", %d still held", f.held);
  if (f.closed > 0) {
    out +=
        say("; of %d that ended %s ended higher, %d at the loss limit; mean %+.1f %%, median %+.1f %%, from %+.1f to "
            "%+.1f %%",
            f.closed, share_text(f.won, f.closed, f.won_between).c_str(), f.at_limit, f.mean, f.median, f.worst, f.best);
  }
  return out + "\n  A price one gets is seldom the notice's; what was is no promise.\n";
}

std::string troubles_words(const Review& review) {
  if (review.troubles.empty()) return "Nothing was missed, late or undelivered that the journal or the bars know of.\n";
  std::string out = "Missed, late or undelivered:\n";
  for (const DayTrouble& trouble : review.troubles) {
    out += say("  %s  %-8s %-13s ", to_string(trouble.day).c_str(), trouble.symbol.c_str(),
               text(to_string(trouble.kind)).c_str());
    if (!trouble.channel.empty()) out += trouble.channel + ": ";
    out += trouble.why + "\n";
  }
  return out;
}

}  // namespace

std::string in_words(const Review& review) {
  const ReviewOptions& span = review.options;
  std::string out = "Review of " + to_string(span.from);
  if (span.to != span.from) out += " to " + to_string(span.to);
  out += say(": %d notices, %d crossings. Information, not advice.\n\n", review.notices,
             static_cast<int>(review.crossings.size()));
  for (const Crossing& one : review.crossings) out += crossing_words(one) + "\n";
  if (!review.crossings.empty())
    out += weights_words(review) + "\n" + odds_in_words(review) + "\n" + followed_words(review) + "\n";
  return out + troubles_words(review);
}

}  // namespace brimwatch
