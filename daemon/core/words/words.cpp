// What notices of every kind share: the state of volume and market, cautions, the lines of a glance.
#include "core/words/words.h"

#include <algorithm>

namespace brimwatch::words {

/// Volume, odds, market and age of the data: what every price notice carries, on two lines.
void Words::add_state() {
  const VolumeView& v = n_.volume;
  std::string volume = "volume " + phrase(v);
  if (v.feed_ratio != 1 && v.feed_ratio > 0) {
    volume +=
        "; counted on a feed that carries about " + fixed(v.feed_ratio * 100, 1) + std::string(kTie) + "% of the market";
  }
  if (v.missed_minutes >= 0.5) volume += "; the feed missed " + tied(fixed(v.missed_minutes, 0), "min") + " of the day";
  state_.push_back(std::move(volume));
  const std::string odds = judgement(v);
  state_.push_back(odds + (odds.empty() ? "" : "; ") + market() + (n_.age == -1 ? "" : "; " + freshness()) + time_left());
}

void Words::add_market() {
  if (n_.held)
    add("Held back while the market falls, as the configuration asks; it is told if the market turns in time.");
  if (n_.marked) add("The market is down: few breakouts hold while the general market falls.");
}

/// What makes the notice itself less sure than it looks.
void Words::add_cautions() {
  if (n_.in_hole) {
    add("The feed was blind meanwhile: " + (n_.price_before.is_set() ? to_string(n_.price_before) : "no price") +
        " before, " + price() + " after. When it happened is not known.");
  }
  if (n_.delayed) {
    add("OLD DATA" + (n_.age > 0 ? ": " + span(n_.age) + " behind" : std::string()) +
        ". The price may be elsewhere by now; look at your broker's.");
  }
  if (n_.doubtful)
    add("The price looks like a split. If it is one, this is of other prices: check before you act on it.");
  add(doubt_of_normal(n_.volume));
  if (n_.muted) add("Muted: kept in the journal only.");
}

/// The second line of a glance.
std::string Words::where() const {
  const std::string place = this->place(), when = to_clock(n_.time, offset_);
  if (place.empty()) return "at " + when;
  return n_.pivot.is_set() ? place + ", at " + when : when + ": " + place;
}

std::string Words::place() const {
  switch (n_.kind) {
    case NoticeKind::feed_silent:
    case NoticeKind::feed_late:
    case NoticeKind::feed_back:
      return clean_line(n_.detail, kGlanceMost);
    case NoticeKind::self_check:
      return clean_line(event_.substr(std::min(end_of_first_part(event_) + 2, event_.size())), kGlanceMost);
    case NoticeKind::corrected:
      return "the last before it " + (n_.price_before.is_set() ? to_string(n_.price_before) : "unknown") + ", pivot " +
             pivot();
    case NoticeKind::fell_under:
      return n_.loss_limit.is_set() ? placed() + ", loss limit " + to_string(n_.loss_limit) : placed();
    case NoticeKind::loss_limit:
      return placed() + ", pivot " + pivot();
    case NoticeKind::gain:
      return price() + ", your price " + to_string(n_.bought);
    case NoticeKind::crossed:
    case NoticeKind::opened_over:
    case NoticeKind::volume_arrived:
    case NoticeKind::volume_faded:
    case NoticeKind::left_range:
    case NoticeKind::back_inside:
    case NoticeKind::halted:
    case NoticeKind::resumed:
    case NoticeKind::day_end:
      return placed() + ", range " + range();
  }
  return placed();
}

/// The third line of a glance: the judgement, and what makes it or the price less sure than they look.
std::string Words::how_sure() const {
  if (state_.empty()) return clean_line(meaning_.empty() ? std::string() : meaning_.back(), kGlanceMost);
  std::string sure = n_.in_hole ? "when is not known, the feed was blind; " : "";
  if (n_.kind == NoticeKind::day_end) return sure + state_.front();
  const VolumeView& v = n_.volume;
  if (v.weight == Weight::unknown) sure += state_.front();
  else
    sure += std::string(to_string(v.weight)) + ": odds " + odds_text(v.odds, v.weight) + " of " + needed_text(v.needed);
  return sure + "; " + market() + (n_.age == -1 ? "" : "; " + freshness()) + time_left();
}

}  // namespace brimwatch::words
