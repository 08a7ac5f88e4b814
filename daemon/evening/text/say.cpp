#include "evening/text/say.h"

#include "core/shares.h"
#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

std::string whole_percent(double share) { return std::to_string(static_cast<int>(100 * share + 0.5)); }

std::string range_text(double low, double high) {
  const std::string to = percent_text(high, 1);
  const std::string from = percent_text(low, 1);
  return from.substr(0, from.size() - 2) + " to " + to;
}

double off_pivot(const Crossing& one) { return 100 * (one.close->as_double() / one.said.notice.pivot.as_double() - 1); }

std::string sale_text(const Crossing& one) {
  const Followed& f = one.followed;
  if (f.unpriced) return "open, no close is known yet";
  if (f.open) return "open, last close " + to_string(f.sold) + " on " + to_string(f.sold_on);
  return std::string("sold ") + (f.at_limit ? "at the loss limit, " : "after 20 sessions, ") + to_string(f.sold) +
         " on " + to_string(f.sold_on);
}

/// "; base rate 54 %", empty where there is none.
std::string beside(const Review& review, double BaseRates::*rate) {
  if (review.base_rates.from.empty()) return {};
  return "; base rate " + whole_percent(review.base_rates.*rate) + " %";
}

std::string swing_line(const Review& review) {
  const Aftermath& after = review.after;
  std::string out = "the next 20 sessions of " + std::to_string(after.swings) + ": best " + percent_text(*after.best, 1) +
                    ", worst " + percent_text(*after.worst, 1) + " (medians)";
  const BaseRates& base = review.base_rates;
  if (base.best && base.worst) out += "; base rate " + percent_text(*base.best, 1) + ", " + percent_text(*base.worst, 1);
  return out;
}

}  // namespace

std::string share_text(const Share& share) {
  if (share.of == 0) return "none decided";
  return std::to_string(share.hits) + " of " + std::to_string(share.of) + " (" + whole_percent(share.share()) +
         " %, likely " + whole_percent(share.between.low) + " to " + whole_percent(share.between.high) + ")";
}

std::string count_text(int count, const std::string& one) {
  return std::to_string(count) + " " + one + (count == 1 ? "" : "s");
}

std::string close_text(const Crossing& one) {
  if (!one.close) return "the close is not known";
  const char* where = one.closed == Side::under  ? "under the pivot"
                      : one.closed == Side::over ? "above the range"
                                                 : "inside the range";
  return "closed " + to_string(*one.close) + ", " + percent_text(off_pivot(one), 1) + " from the pivot, " + where;
}

std::string volume_text(const Crossing& one) {
  const VolumeView& said = one.said.notice.volume;
  if (said.weight == Weight::unknown)
    return "volume was not judged" + (one.volume ? "; the day had " + brief(*one.volume) : std::string());
  std::string out = "volume: said " + brief(said.projected) + " (" + brief(said.low) + "-" + brief(said.high) + "), ";
  if (!one.volume) return out + "the day's is not known";
  out += "came " + brief(*one.volume) + (one.official ? "" : " by the feed's own count");
  if (!one.surge) return out;
  return out + ", " + percent_text(*one.surge, 0) + ": " + (*one.came ? "reached" : "did not reach") + " the " +
         percent_text(said.needed, 0) + " needed";
}

std::string doubt_text(const Crossing& one) {
  return "its daily bars are doubtful (" + clean_line(one.doubt, 300) + "): nothing is judged by them from that day on";
}

std::string after_text(const Crossing& one) {
  std::string out = "after";
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    out += (i > 0 ? "; " : " ") + count_text(kSpans[i], "session") + ": ";
    out += one.after[i]        ? range_text(one.after[i]->fall, one.after[i]->rise)
           : one.doubt.empty() ? "not yet"
                               : "not judged";
  }
  return out;
}

std::string follow_text(const Crossing& one) {
  const Followed& f = one.followed;
  if (!f.taken) return "following its rules: no purchase, " + f.why;
  return "following its rules: bought at " + to_string(f.bought) + " (" + f.why + "), " + sale_text(one) + ": " +
         percent_text(f.result, 1) + " after costs";
}

std::string weight_text(const VolumeView& volume) {
  if (volume.weight == Weight::unknown) return {};
  return std::string(to_string(volume.weight)) + ", odds " + odds_text(volume.odds, volume.weight);
}

std::vector<std::string> followed_lines(const Review& review) {
  const FollowSummary& f = review.followed;
  if (f.taken == 0) return {};
  std::string first = count_text(f.taken, "purchase") + ": " + std::to_string(f.ended) + " ended";
  if (f.ended > 0)
    first += " (" + std::to_string(f.at_limit) + " at the loss limit), mean " + percent_text(f.ended_mean, 1);
  first += "; " + std::to_string(f.open) + " still open";
  if (f.open > 0) first += " at their last closes, mean " + percent_text(f.open_mean, 1);
  if (f.unpriced > 0) first += "; of " + std::to_string(f.unpriced) + " no close is known yet";
  std::vector<std::string> out = {first, "all of them, open ones as they stand: " + share_text(f.won) + " higher; mean " +
                                             percent_text(f.mean, 1) + ", median " + percent_text(f.median, 1) +
                                             ", from " + range_text(f.worst, f.best)};
  if (const auto& base = review.base_rates.following)
    out.push_back("base rate, bought at every plain 50-day high: " + count_text(base->purchases, "purchase") + ", " +
                  whole_percent(base->won) + " % higher; mean " + percent_text(base->mean, 1));
  return out;
}

std::vector<std::string> after_lines(const Review& review) {
  std::vector<std::string> out = {
      "volume wanted came in " + share_text(review.all.came) + beside(review, &BaseRates::surge),
      "closed at or above the pivot: " + share_text(review.all.held) + beside(review, &BaseRates::held)};
  if (review.after.up20.of > 0) {
    out.push_back("rose 20 % before falling 8 %: " + share_text(review.after.up20) + beside(review, &BaseRates::up20));
    out.push_back("fell 8 % before rising 20 %: " + share_text(review.after.down8) + beside(review, &BaseRates::down8));
  }
  if (review.after.swings > 0) out.push_back(swing_line(review));
  return out;
}

std::vector<std::string> sum_lines(const Review& review) {
  std::vector<std::string> out;
  if (!review.crossings.empty()) {
    out = after_lines(review);
    const FollowSummary& f = review.followed;
    out.push_back(f.taken == 0 ? "following the notices' own rules, nothing would have been bought"
                               : "following the notices' own rules: " + count_text(f.taken, "purchase") + ", mean " +
                                     percent_text(f.mean, 1) + " after costs, " + std::to_string(f.open) + " still open");
  }
  if (!review.crossings.empty() && !review.base_rates.from.empty())
    out.push_back("base rates: " + review.base_rates.from);
  if (review.rehearsal) out.insert(out.begin(), "a rehearsal: a past day was played, and nothing of it happened then");
  const auto troubles = static_cast<int>(review.troubles.size());
  out.push_back(troubles == 0 ? "nothing was missed, late or undelivered that the journal or the bars know of"
                              : "missed, late, undelivered or blind: " + std::to_string(troubles));
  return out;
}

}  // namespace brimwatch
