#include "core/wording.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>
#include <vector>

#include "core/rehearsal_mark.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

/// Keeps a number and its unit on one line; becomes a plain blank at the end. Text from outside has none (clean_line).
constexpr std::string_view kTie = "\u00A0";

std::string untied(std::string text) {
  for (std::size_t at = 0; (at = text.find(kTie, at)) != std::string::npos;) text.replace(at, kTie.size(), " ");
  return text;
}

std::string tied(std::string number, std::string_view unit) { return number.append(kTie).append(unit); }

std::string fixed(double value, int decimals) {
  if (!std::isfinite(value)) return "?";
  char digits[400];
  const auto end = std::to_chars(digits, digits + sizeof digits, value, std::chars_format::fixed, decimals).ptr;
  return {digits, end};
}

std::string signed_fixed(double value, int decimals) {
  std::string digits = fixed(std::abs(value), decimals);
  const bool zero = digits.find_first_of("123456789?") == std::string::npos;
  return (value < 0 && !zero ? "-" : "+") + digits;
}

std::string percent(double value, int decimals) { return tied(signed_fixed(value, decimals), "%"); }

/// "+40 %", "+42.5 %".
std::string needed_text(double value) {
  const bool whole = std::abs(value - std::round(value)) < 0.05;
  return percent(value, whole ? 0 : 1);
}

std::string ordinal(int n) {
  constexpr std::string_view kEndings[] = {"th", "st", "nd", "rd"};
  const bool teens = n % 100 >= 11 && n % 100 <= 13;
  return std::to_string(n).append(teens || n % 10 > 3 ? kEndings[0] : kEndings[n % 10]);
}

std::string why_not_text(NoJudgement why) {
  switch (why) {
    case NoJudgement::none:
      return "not judged";
    case NoJudgement::no_normal:
      return "not judged: its normal volume is not known";
    case NoJudgement::ratio_unknown:
      return "not judged: how much of the market this feed carries is not known yet";
    case NoJudgement::outside_session:
      return "not judged outside regular hours";
    case NoJudgement::ratio_unsteady:
      return "not judged: how much of the market this feed carries differs too much from day to day";
    case NoJudgement::heard_too_little:
      return "not judged: too little of the day was heard yet";
    case NoJudgement::day_volume_unclear:
      return "not judged: the source's own count of the day and its trades disagree (key day_volume_includes)";
  }
  return {};
}

/// Where the first sentence, or the first half of one, ends; the length of a text that is in one piece.
std::size_t end_of_first_part(std::string_view text) { return std::min({text.find("; "), text.find(". "), text.size()}); }

/// Of `price` from `base`: "+0.1 %"; with a second decimal where the first would show nothing.
std::string change(Price price, Price base) {
  if (!base.is_set()) return "?";
  const double value = (static_cast<double>(price.micros) / static_cast<double>(base.micros) - 1) * 100;
  const bool tiny = price != base && std::abs(value) < 0.05;
  return percent(value, tiny ? 2 : 1);
}

std::string span(Nanos length) {
  const double seconds = static_cast<double>(length) / 1e9;
  if (seconds < 9.95) return tied(fixed(seconds, 1), "s");
  if (seconds < 119.5) return tied(fixed(seconds, 0), "s");
  const auto minutes = std::llround(seconds / 60);
  if (minutes < 120) return tied(std::to_string(minutes), "min");
  const std::string rest = std::to_string(minutes % 60);
  return tied(tied(tied(std::to_string(minutes / 60), "h"), (rest.size() < 2 ? "0" : "") + rest), "min");
}

/// "normal 1.29M"; of a mean that rests on little it says so.
std::string normal_text(const VolumeView& volume) {
  constexpr int kFew = 20;
  std::string text = "normal " + brief(volume.normal.as_double());
  if (volume.normal_days == 0 || volume.normal_days >= kFew) return text;
  return text + " (the mean of " + tied(std::to_string(volume.normal_days), volume.normal_days == 1 ? "day" : "days") +
         " only)";
}

std::string phrase(const VolumeView& volume) {
  std::string text = brief(volume.so_far.as_double());
  if (volume.weight == Weight::unknown) return text + ", " + why_not_text(volume.why_not);
  const double wanted = volume.normal.as_double() * (1 + volume.needed / 100);
  const bool is_past = wanted > 0 && volume.so_far.as_double() >= wanted;
  if (is_past) text += ", past the mark of " + brief(wanted) + " already, the day by now likely ";
  else text += ", heading for ";
  text += brief(volume.projected) + " (" + brief(volume.low) + "-" + brief(volume.high) + ")";
  return text + ", " + percent(volume.surge, 0) + " on " + normal_text(volume);
}

/// What cannot be of a day that is like others: most likely a list in round lots of a hundred.
std::string doubt_of_normal(const VolumeView& volume) {
  constexpr double kMost = 20;
  const double normal = volume.normal.as_double();
  if (!(normal > 0) || volume.so_far.as_double() < kMost * normal) return {};
  return "The normal volume of " + brief(normal) + " looks wrong: today's is " +
         std::to_string(std::llround(volume.so_far.as_double() / normal)) + " times it. Is it in lots of 100?";
}

std::string judgement(const VolumeView& volume) {
  if (volume.weight == Weight::unknown) return {};
  return ("odds of " + needed_text(volume.needed) + ": " + odds_text(volume.odds, volume.weight) + ", ")
      .append(to_string(volume.weight));
}

/// The parts of one notice's words, put together as title and text.
class Words {
 public:
  Words(const Notice& notice, const WordingContext& context)
      : n_(notice), name_(clean_line(context.symbol, 24)), note_(clean_line(context.note, 200)), offset_(context.offset) {
    say();
  }

  [[nodiscard]] std::string title() const {
    return clean_line(untied(rest_.empty() ? what_ : what_ + ": " + rest_), kTitleMost);
  }

  [[nodiscard]] Glance glance() const {
    return {clean_line(untied(what_), kTitleMost), untied(where()), untied(how_sure())};
  }

  [[nodiscard]] std::string text() const {
    std::string first = to_clock(n_.time, offset_) + "  ";
    if (!subject_.empty()) first += subject_ + "  ";
    std::string out = wrap(first + event_, kTextWidth, kTextIndent);
    const std::string indent(kTextIndent, ' ');
    const auto line = [&](const std::string& part) {
      out.append("\n").append(wrap(indent + part, kTextWidth, kTextIndent));
    };
    for (const std::string& part : state_) line(part);
    for (const std::string& part : meaning_) line(part);
    if (!note_.empty()) line("note: " + note_);
    return untied(std::move(out));
  }

  [[nodiscard]] Spoken parts() const {
    Spoken out{untied(event_), {}, {}, note_};
    for (const std::string& part : state_) out.state.push_back(untied(part));
    for (const std::string& part : meaning_) out.meaning.push_back(untied(part));
    return out;
  }

 private:
  void say();
  void say_crossed();
  void say_opened_over();
  void say_volume_arrived();
  void say_volume_faded();
  void say_left_range();
  void say_back_inside();
  void say_fell_under();
  void say_loss_limit();
  void say_gain();
  void say_halted();
  void say_resumed();
  void say_feed(std::string_view event, std::string_view meaning);
  void say_corrected();
  void say_day_end();
  void say_self_check();

  void add(std::string part) {
    if (!part.empty()) meaning_.push_back(std::move(part));
  }
  void add_state();
  void add_market();
  void add_cautions();

  [[nodiscard]] std::string pivot() const { return to_string(n_.pivot); }
  [[nodiscard]] std::string price() const { return n_.price.is_set() ? to_string(n_.price) : "unknown"; }
  [[nodiscard]] std::string top() const { return to_string(n_.range_top); }
  [[nodiscard]] std::string range() const { return pivot() + " to " + top(); }
  [[nodiscard]] std::string from_pivot() const { return change(n_.price, n_.pivot); }
  /// "48.41 (+0.1 %)"
  [[nodiscard]] std::string placed() const {
    return n_.price.is_set() && n_.pivot.is_set() ? price() + " (" + from_pivot() + ")" : price();
  }
  [[nodiscard]] std::string again() const {
    return n_.count < 2 ? std::string() : " (the " + ordinal(n_.count) + " time today)";
  }
  [[nodiscard]] std::string weight_title() const {
    const VolumeView& v = n_.volume;
    if (v.weight == Weight::unknown) return "volume not judged";
    return std::string(to_string(v.weight)) + ", odds " + odds_text(v.odds, v.weight);
  }
  [[nodiscard]] std::string odds_and_price() const {
    return "odds " + odds_text(n_.volume.odds, n_.volume.weight) + ", price " + price();
  }
  [[nodiscard]] std::string where() const;
  [[nodiscard]] std::string place() const;
  [[nodiscard]] std::string how_sure() const;
  [[nodiscard]] std::string_view standing() const {
    switch (n_.side) {
      case Side::unknown:
        return "";
      case Side::under:
        return " It counts as under the pivot again.";
      case Side::inside:
        return " It counts as inside the range again.";
      case Side::over:
        return " It counts as over the range again.";
    }
    return "";
  }
  [[nodiscard]] std::string market() const {
    return n_.trend == Trend::unknown ? "market not set" : "market " + std::string(to_string(n_.trend));
  }
  /// Of data whose time of arrival is known; a tape has none.
  [[nodiscard]] std::string freshness() const {
    if (n_.age < -kSecond) return "data stamped " + span(-n_.age) + " ahead of this clock";
    return "data " + span(n_.age < 0 ? 0 : n_.age) + " old";
  }
  /// What a title must not leave out: " (market down, old data)".
  [[nodiscard]] std::string flags() const {
    std::string all;
    const auto add = [&all](bool is, std::string_view word) {
      if (is) all.append(all.empty() ? " (" : ", ").append(word);
    };
    add(n_.muted, "muted"), add(n_.held, "held back"), add(n_.marked, "market down"), add(n_.delayed, "old data"),
        add(n_.doubtful, "split?");
    return all.empty() ? all : all + ")";
  }
  /// "; 9 min to the close", when little is left to act in.
  [[nodiscard]] std::string time_left() const {
    constexpr Nanos kLittle = 15 * kMinute;
    if (n_.to_close < 0 || n_.to_close > kLittle) return {};
    return "; " + (n_.to_close < kMinute ? "under " + tied("1", "min") : span(n_.to_close)) + " to the close";
  }

  const Notice& n_;
  std::string name_, note_;
  std::chrono::seconds offset_;
  std::string what_, rest_;  ///< the two halves of the title
  std::string subject_, event_;
  std::vector<std::string> state_, meaning_;
};

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
  if (n_.last_today) add("No further crossing of this pivot is told today (per_day).");
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
  if (n_.last_today) add("No further crossing of this pivot is told today (per_day).");
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
      say_feed("is late", "Every price from it is that old. Look at your broker's before anything.");
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

}  // namespace

Spoken spoken(const NoticeRecord& record) {
  return Words(record.notice, {record.symbol, record.note, record.offset}).parts();
}

Glance glance(const NoticeRecord& record) {
  const bool has_own_words = record.notice.kind == NoticeKind::day_end && !record.notice.pivot.is_set();  // a review
  if (has_own_words) return {record.title, clean_line(record.text.substr(0, record.text.find('\n')), kGlanceMost), {}};
  Glance out = Words(record.notice, {record.symbol, record.note, record.offset}).glance();
  out.what.insert(0, mark_of(record.title));
  return out;
}

std::string odds_text(double odds, Weight weight) {
  constexpr double kNoise = 1e-7;  // 0.57 * 100 is a little less than 57
  if (!std::isfinite(odds)) return "?";
  if (weight == Weight::unsettled)
    odds = odds > 0.5 ? std::floor(odds * 100 + kNoise) / 100 : std::ceil(odds * 100 - kNoise) / 100;
  if (odds < 0.005) return "<0.01";
  if (odds >= 0.995) return ">0.99";
  return fixed(odds, 2);
}

std::string percent_from(Price price, Price base) { return untied(change(price, base)); }
std::string percent_text(double value, int decimals) { return untied(percent(value, decimals)); }
std::string span_text(Nanos length) { return untied(span(length)); }
std::string volume_phrase(const VolumeView& volume) { return untied(phrase(volume)); }
std::string odds_phrase(const VolumeView& volume) { return untied(judgement(volume)); }

NoticeRecord word(Notice notice, const WordingContext& context) {
  NoticeRecord record;
  const Words words(notice, context);
  record.id = notice_id(notice.day, context.symbol, notice.pivot, notice.kind, notice.count + notice.withdrawn);
  record.symbol = context.symbol;
  record.title = words.title();
  record.text = words.text();
  record.note = context.note;
  record.offset = context.offset;
  record.notice = std::move(notice);
  return record;
}

}  // namespace brimwatch
