// What each rule will do, in words, with the numbers of the watch at hand.
#include <algorithm>
#include <cstdio>
#include <string_view>

#include "config/overview.h"
#include "core/caution.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kWidth = 80;

std::string percent(std::int64_t micros) { return format_micros(micros, 0) + " %"; }

std::string odds(double fraction) { return format_micros(static_cast<std::int64_t>(fraction * 1e6 + 0.5), 2); }

/// One statement, wrapped, with a mark in front.
void say(std::string& out, const std::string& text) { out += wrap("  - " + text, kWidth, 4) + "\n"; }

std::string crossing(const Watch& watch) {
  const Rules& rules = watch.rules;
  std::string text = "crossed: ";
  if (rules.confirm_trades > 1) text += std::to_string(rules.confirm_trades) + " trades in a row";
  else text += "a trade";
  text += " at or above " + to_string(watch.pivot) + " after the price was under it";
  if (rules.confirm_seconds > 0) text += ", once it has stayed there for " + std::to_string(rules.confirm_seconds) + " s";
  text += ". At most " + std::to_string(rules.per_day) + " a day";
  text += rules.rearm > 0 ? "; the next one counts after a trade at or under " + to_string(watch.rearm_level) + " (" +
                                percent(rules.rearm) + " under)."
                          : "; the next one counts as soon as the price has been under the pivot.";
  return text;
}

std::string range(const Watch& watch) {
  return "left-range: above " + to_string(watch.range_top) + " (pivot + " + percent(watch.rules.range) +
         ", cut down to a tick of " + to_string(tick_at(watch.rules, watch.range_top)) +
         ") the price has run out of the buy range; back-inside "
         "when it returns. If the day opens above it: opened-over, no crossing.";
}

std::string at_or_under(Price level, std::int32_t part, Price pivot) {
  return part > 0 ? "at or under " + to_string(level) + " (pivot - " + percent(part) + ")" : "under " + to_string(pivot);
}

std::string under(const Watch& watch) {
  const Rules& rules = watch.rules;
  return "fell-under: " + at_or_under(watch.slip_level, rules.slip, watch.pivot) +
         ", the breakout did not hold. loss-limit: " + at_or_under(watch.loss_limit, rules.loss, watch.pivot) + ", once.";
}

std::string volume(const Watch& watch, const NormalVolume& normal) {
  const Rules& rules = watch.rules;
  if (normal.from == NormalVolume::From::unknown) {
    std::string text = "Volume cannot be judged: no normal volume is known";
    if (!normal.trouble.empty()) text += " (" + normal.trouble + ")";
    return text + ". Give normal_volume, or daily bars in [history].";
  }
  const double wanted = normal.shares.as_double() * (1 + static_cast<double>(rules.surge) / 1e8);
  std::string text = "Volume: a day of " + brief(wanted) + " is wanted, " + percent(rules.surge) + " above the normal " +
                     brief(normal.shares.as_double());
  text += normal.from == NormalVolume::From::list
              ? " (given)"
              : " (mean of " + std::to_string(normal.days) + " days to " + to_string(normal.last) + ")";
  text += ". Odds of it from " + odds(rules.odds_heavy) + " on are called heavy, up to " + odds(rules.odds_light) +
          " light. volume-arrived and volume-faded tell when that changes after a crossing.";
  return text;
}

std::string bad_prints(const Watch& watch) {
  if (watch.rules.bad_print == 0) return "Bad prints: every trade is believed at once.";
  return "Bad prints: a trade more than " + percent(watch.rules.bad_print) +
         " away from the last one moves nothing until a second one confirms it.";
}

std::string dates(const Watch& watch) {
  std::string text = "Watched";
  if (watch.from) text += " from " + to_string(*watch.from);
  if (watch.until) text += " until " + to_string(*watch.until);
  return text + ", both days included.";
}

void explain_watch(std::string& out, const Watch& watch, const NormalVolume& normal) {
  out += watch.symbol + ", pivot " + to_string(watch.pivot) + "\n";
  say(out, crossing(watch));
  say(out, range(watch));
  say(out, under(watch));
  say(out, volume(watch, normal));
  say(out, bad_prints(watch));
  if (watch.from || watch.until) say(out, dates(watch));
  if (!watch.note.empty()) say(out, "Your note: " + watch.note);
  out += "\n";
}

void explain_market(std::string& out, const Overview& overview) {
  out.append("Market: ").append(to_string(overview.trend));
  if (!overview.trend_source.empty()) out += ", " + overview.trend_source;
  out += "\n";
  switch (overview.settings.market.when_down) {
    case WhenDown::tell:
      return say(out, "In a falling market, crossings are reported as usual.");
    case WhenDown::mark:
      return say(out, "In a falling market, crossings are reported and marked: breakouts fail more often then.");
    case WhenDown::hold_back:
      return say(out, "In a falling market, crossings go into the journal and are not sent.");
  }
}

std::string clock(int minutes) {
  char text[16];
  std::snprintf(text, sizeof text, "%02d:%02d", minutes / 60, minutes % 60);
  return text;
}

template <typename T>
std::string words_of(const std::vector<T>& all, std::string_view otherwise) {
  std::string out;
  for (const T one : all) out.append(out.empty() ? "" : ", ").append(to_string(one));
  return out.empty() ? std::string(otherwise) : out;
}

void explain_channel(std::string& out, const ChannelSettings& channel) {
  out += "Channel " + channel.name + " (" + channel.kind + (channel.enabled ? ")\n" : ", switched off)\n");
  std::string carries = "Carries " + words_of(channel.kinds, "all kinds of notice");
  if (!channel.weights.empty()) carries += "; only with volume judged " + words_of(channel.weights, "");
  say(out, carries + ".");
  const QuietHours& quiet = channel.quiet;
  if (quiet.from_minute != quiet.to_minute) {
    const std::string zone = quiet.zone.empty() ? "this machine's time" : quiet.zone;
    say(out, "Quiet from " + clock(quiet.from_minute) + " to " + clock(quiet.to_minute) + " (" + zone +
                 "): notices wait" +
                 (quiet.urgent_passes ? ", but those about prices come through." : ", those about prices too."));
  }
  say(out, "At most " + std::to_string(channel.per_minute) +
               " messages a minute, the rest in one digest. What has not gone out after " +
               std::to_string(channel.expire_urgent.count()) + " s is not sent any more when it is about a price.");
  if (channel.until_acknowledged) {
    say(out, "Crossings are repeated every " + std::to_string(channel.repeat_every.count()) +
                 " s until you acknowledge them.");
  }
}

void explain_feed(std::string& out, const FeedSettings& feed) {
  out += "Feed " + feed.name + " (" + feed.kind + (feed.enabled ? ")\n" : ", switched off)\n");
  say(out, "feed-silent after " + std::to_string(feed.silent_after.count()) +
               " s without a message in session; feed-late when its data is more than " +
               std::to_string(feed.late_after.count()) + " s old.");
  if (feed.rehearsal > 0) say(out, "Plays a past day: ages are measured against that day's own time.");
  if (feed.past_days == "tell") say(out, "Data of a past day bring notices like today's.");
  if (!feed.standby_for.empty()) say(out, "Used when " + feed.standby_for + " is blind.");
}

}  // namespace

std::string explanation(const Overview& overview) {
  std::string out;
  for (const Watch& watch : overview.settings.watches) {
    const bool shown = overview.only.empty() ||
                       std::find(overview.only.begin(), overview.only.end(), watch.symbol) != overview.only.end();
    if (shown) explain_watch(out, watch, overview.normal_of(watch));
  }
  explain_market(out, overview);
  for (const FeedSettings& feed : overview.settings.feeds) explain_feed(out, feed);
  for (const ChannelSettings& channel : overview.settings.channels) explain_channel(out, channel);
  return out.append("\n").append(kCaution).append("\n");
}

}  // namespace brimwatch
