// What each kind of notice says: its event, what it means, what not to do.
#include <utility>

#include "core/words/words.h"

namespace brimwatch::words {

void Words::say_crossed() {
  const bool past = n_.range_top.is_set() && n_.price > n_.range_top;
  const bool late = n_.detail == kHeldUntilNow;
  if (past) what_ = name_ + " passed through the range" + flags(), rest_ = price();
  else what_ = name_ + (late ? " is over " : " crossed ") + pivot() + flags(), rest_ = weight_title();
  if (past) event_ = "passed through the range " + range() + again() + ": " + placed();
  else event_ = (late ? "is over " : "crossed ") + pivot() + again() + ", now " + placed() + "; range to " + top();
  add_state();
  add_cautions();
  add_market();
  if (late) add("It crossed while the market was falling and that was held back; the market has turned since.");
  if (n_.last_today) add("No more crossing notices for this pivot today (per_day).");
  if (past) return add("From under the pivot to above the buy range at once: do not chase.");
  if (!doubt_of_normal(n_.volume).empty()) return add("Inside the buy range; what the volume says depends on that.");
  switch (n_.volume.weight) {
    case Weight::heavy:
      return add("Inside the buy range; volume confirms it so far.");
    case Weight::unsettled:
      return add("Inside the buy range; whether the volume comes is open.");
    case Weight::light:
      return add("Inside the buy range, but the volume is not there yet.");
    case Weight::unknown:
      return add("Inside the buy range; check the volume elsewhere.");
  }
}

void Words::say_opened_over() {
  const std::string verb = n_.detail.empty() ? "opened" : "is";
  what_ = name_ + " " + verb + " over the range" + flags(), rest_ = price();
  event_ = verb + " over the range: " + placed() + "; range " + range();
  add_state();
  add_cautions();
  add_market();
  std::string seen = "It was never inside the range today.";
  if (n_.detail == kEarlierInside) seen = "It was lower earlier today, before it was watched at this pivot.";
  if (n_.detail == kEarlierUnseen) seen = "What it did earlier today was not seen.";
  if (n_.last_today) add("No more crossing notices for this pivot today (per_day).");
  add(seen + " Do not chase; you are told if it comes back.");
}

void Words::say_volume_arrived() {
  what_ = name_ + " volume arrived" + flags(), rest_ = odds_and_price();
  event_ = "volume has arrived; price " + placed() + ", range to " + top();
  add_state();
  add_cautions();
  add_market();
  add("The missing volume has come in, and the price is inside the range.");
}

void Words::say_volume_faded() {
  what_ = name_ + " volume faded" + flags(), rest_ = odds_and_price();
  event_ = "volume has faded; price " + placed() + ", range " + range();
  add_state();
  add_cautions();
  add("The earlier pace has not lasted; the volume no longer confirms the crossing of " + pivot() + ".");
}

void Words::say_left_range() {
  what_ = name_ + " left the range" + flags(), rest_ = price() + ", top " + top();
  event_ = "left the range at the top" + again() + ": " + placed() + "; range " + range();
  add_state();
  add_cautions();
  add("Do not chase: from up here an ordinary pullback can reach the loss limit.");
}

void Words::say_back_inside() {
  what_ = name_ + " back inside the range" + flags(), rest_ = price();
  event_ = "back inside the range" + again() + ": " + placed() + "; range " + range();
  add_state();
  add_cautions();
  add_market();
  add("It has been above the range; " + change(n_.range_top, n_.price).substr(1) + " of room to the top.");
}

void Words::say_fell_under() {
  what_ = name_ + " fell under " + pivot() + flags(), rest_ = "now " + price();
  event_ = "fell back under " + pivot() + again() + ": now " + placed();
  add_state();
  add_cautions();
  std::string meaning = "It did not hold above the pivot.";
  if (n_.loss_limit.is_set() && n_.price > n_.loss_limit) {
    meaning += " Loss limit " + to_string(n_.loss_limit) + ", " + change(n_.loss_limit, n_.price) + " from here.";
  }
  add(std::move(meaning));
}

void Words::say_loss_limit() {
  what_ = name_ + " reached the loss limit " + to_string(n_.loss_limit) + flags(), rest_ = price();
  event_ = "reached the loss limit " + to_string(n_.loss_limit) + ": now " + placed() + "; pivot " + pivot();
  add_state();
  add_cautions();
  const bool own = n_.bought.is_set();
  add("The line drawn in advance: " + change(n_.loss_limit, own ? n_.bought : n_.pivot).substr(1) + " under " +
      (own ? "your price of " + to_string(n_.bought) : "the pivot") + ". Check the price with your broker.");
}

void Words::say_gain() {
  const std::string up = change(n_.price, n_.bought);
  what_ = name_ + " is " + untied(up) + " on your price" + flags(), rest_ = price();
  event_ = "has risen to " + price() + ", " + up + " on your price of " + to_string(n_.bought);
  add_state();
  add_cautions();
  add("The gain you wanted to hear of. What to do about it is yours to decide; check the price with your broker.");
}

void Words::say_halted() {
  what_ = name_ + " halted" + (n_.price.is_set() ? ", last " + price() : std::string());
  event_ =
      n_.price.is_set() ? "halted" + again() + "; last price " + placed() : std::string("halted before its first trade");
  add_state();
  add_cautions();
  add("No trades until it resumes, and the first price then may be far from this one.");
}

void Words::say_resumed() {
  what_ = name_ + " trades again" + flags(), rest_ = n_.price.is_set() ? price() : std::string();
  event_ = n_.price.is_set() ? "trades again: " + placed() : std::string("trades again");
  if (n_.price_before.is_set() && !n_.in_hole) event_ += "; before the halt " + to_string(n_.price_before);
  add_state();
  add_cautions();
  add("The minutes of the halt are left out of the projected volume.");
}

void Words::say_feed(std::string_view event, std::string_view meaning) {
  what_ = "Feed " + name_ + " " + std::string(event);
  subject_ = "feed " + name_;
  event_ = std::string(event);
  add(clean_line(n_.detail, 600));
  add(std::string(meaning));
}

void Words::say_corrected() {
  const std::string trade = n_.price.is_set() ? "trade at " + to_string(n_.price) : std::string("trade");
  what_ = name_ + ": the " + trade + " was taken back";
  event_ = "the exchange took back the " + trade + " behind an earlier notice";
  if (n_.price_before.is_set()) {
    event_ += "; the last before it: " + to_string(n_.price_before) + " (" + change(n_.price_before, n_.pivot) + ")";
  }
  add_state();
  add_cautions();
  add("Take that notice as withdrawn." + std::string(standing()));
}

void Words::say_day_end() {
  const VolumeView& v = n_.volume;
  const std::string_view where = n_.side == Side::unknown ? std::string_view("at") : to_string(n_.side);
  what_ = name_ + " ended the day at " + price();
  if (n_.side != Side::unknown)
    what_ += std::string(", ") + (n_.side == Side::under ? "under the pivot" : std::string(where) + " the range");
  const bool first = n_.detail == kFirstAtClose;
  event_ = std::string(first ? "closed" : "ended the day") + " at " + placed();
  if (n_.side == Side::under) event_ += ", under the pivot " + pivot();
  else if (n_.side != Side::unknown) event_ += ", " + std::string(where) + " the range " + range();
  std::string state = "volume " + brief(v.so_far.as_double());
  if (v.normal.micros > 0) {
    const bool in_doubt = v.feed_ratio != 1 && v.odds > 0 && v.odds < 1;  // by a part of the tape
    state += ": " + percent(v.surge, 0) + " on " + normal_text(v) + "; " + needed_text(v.needed) +
             (in_doubt              ? " was reached with odds " + odds_text(v.odds, v.weight) + ", by this feed's part"
              : v.surge >= v.needed ? std::string(" was reached")
                                    : std::string(" was not reached"));
  } else {
    state += "; its normal volume is not known";
  }
  if (v.missed_minutes >= 0.5) state += "; the feed missed " + tied(fixed(v.missed_minutes, 0), "min") + " of the day";
  if (n_.trend != Trend::unknown) state += "; market " + std::string(to_string(n_.trend));
  state_.push_back(std::move(state));
  if (first)
    add("It passed its pivot only at the close, when nobody could act on it. The next session's first price decides.");
  if (n_.bought.is_set()) {
    add("Bought at " + to_string(n_.bought) + ": " + change(n_.price, n_.bought) + " now; loss limit " +
        to_string(n_.loss_limit) + ".");
  }
  if (n_.detail == kStillHalted) add("It is still halted.");
  add(doubt_of_normal(v));
}

void Words::say_self_check() {
  const std::string detail = clean_line(n_.detail, 600);
  const std::string what = detail.empty() ? std::string("check the program's log") : detail;
  what_ = (name_.empty() ? std::string() : name_ + ": ") + what.substr(0, end_of_first_part(what));
  event_ = what;
}

void Words::say() {
  subject_ = name_;
  switch (n_.kind) {
    case NoticeKind::crossed:
      say_crossed();
      break;
    case NoticeKind::opened_over:
      say_opened_over();
      break;
    case NoticeKind::volume_arrived:
      say_volume_arrived();
      break;
    case NoticeKind::volume_faded:
      say_volume_faded();
      break;
    case NoticeKind::left_range:
      say_left_range();
      break;
    case NoticeKind::back_inside:
      say_back_inside();
      break;
    case NoticeKind::fell_under:
      say_fell_under();
      break;
    case NoticeKind::loss_limit:
      say_loss_limit();
      break;
    case NoticeKind::gain:
      say_gain();
      break;
    case NoticeKind::halted:
      say_halted();
      break;
    case NoticeKind::resumed:
      say_resumed();
      break;
    case NoticeKind::feed_silent:
      say_feed("is silent", "Nothing is watched through it until it is back: a crossing now would be missed.");
      break;
    case NoticeKind::feed_late:
      say_feed(
          "is late",
          "Every price from it is that old, or this machine's clock is ahead by as much. Look at your broker's prices "
          "before anything.");
      break;
    case NoticeKind::feed_back:
      say_feed("is back", "What happened meanwhile is told as far as its data shows it.");
      break;
    case NoticeKind::corrected:
      say_corrected();
      break;
    case NoticeKind::day_end:
      say_day_end();
      break;
    case NoticeKind::self_check:
      say_self_check();
      break;
  }
}

}  // namespace brimwatch::words
