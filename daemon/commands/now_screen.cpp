#include "commands/now_screen.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <optional>

#include "commands/snapshot_cells.h"
#include "core/shares.h"
#include "core/text/json.h"
#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

using Lines = std::vector<ScreenLine>;

constexpr double kLateSeconds = 60;

/// A text of any length as lines that are indented from the second on.
void add_wrapped(Lines& lines, const std::string& text, Style style = Style::plain) {
  const std::string all = wrap(text, kScreenColumns - 1, 2);
  for (std::size_t from = 0; from <= all.size();) {
    const std::size_t to = std::min(all.find('\n', from), all.size());
    lines.push_back({cut(all.substr(from, to - from), kScreenColumns), style});
    from = to + 1;
  }
}

template <typename... Values>
std::string formed(const char* form, Values... values) {
  char text[200];
  std::snprintf(text, sizeof text, form, values...);
  return text;
}

// --- what makes what is shown doubtful

bool is_blind(const OrderedJson& snapshot) {
  const OrderedJson& feeds = snapshot.at("feeds");
  return words_of(snapshot, "session") == "open" &&
         std::none_of(feeds.begin(), feeds.end(), [](const OrderedJson& feed) { return feed.value("carrying", false); });
}

/// Of the carrying feed that is least behind; seconds.
double lateness_of(const OrderedJson& snapshot) {
  double least = -1;
  for (const OrderedJson& feed : snapshot.at("feeds")) {
    const auto lag = feed.value("carrying", false) ? number_of(feed, "lag_seconds") : std::nullopt;
    if (lag && (least < 0 || *lag < least)) least = *lag;
  }
  return least;
}

/// A reload that came to nothing: what is watched is not what stands in the files.
void add_refused(Lines& lines, const OrderedJson& configuration) {
  const std::string why = words_of(configuration, "refused"), read = words_of(configuration, "read");
  if (why.empty()) return;
  add_wrapped(lines,
              "RELOAD REFUSED: the configuration read at " + read.substr(std::min<std::size_t>(read.size(), 11), 5) +
                  " was refused, and the one before it is in force: " + why,
              Style::warning);
}

void add_warnings(Lines& lines, const OrderedJson& snapshot) {
  const bool rehearsal = snapshot.value("rehearsal", false);
  if (is_blind(snapshot)) {
    add_wrapped(lines, "BLIND: no feed carries prices. A crossing would not be seen; prices below are old.",
                Style::warning);
  }
  if (const std::string trouble = words_of(snapshot, "journal_trouble"); !trouble.empty())
    add_wrapped(lines, "NOT KEPT: notices are sent but not stored: " + trouble, Style::warning);
  add_refused(lines, snapshot.value("configuration", OrderedJson::object()));
  if (const double late = lateness_of(snapshot); late > kLateSeconds && !rehearsal) {
    add_wrapped(lines, "DELAYED: prices come " + span_text(static_cast<Nanos>(late) * kSecond) + " late.",
                Style::warning);
  }
  if (rehearsal) add_wrapped(lines, "REHEARSAL: a past day is played; nothing of this happens now", Style::warning);
  const OrderedJson shared = snapshot.value("shared", OrderedJson::object());
  if (words_of(shared, "role") == "alone")
    add_wrapped(lines, "ALONE: etcd does not answer; another machine may send the same notices.", Style::warning);
  if (words_of(shared, "role") == "standing by") {
    const std::string speaker = words_of(shared, "speaker");
    add_wrapped(lines, "STANDING BY: this machine watches and tells nothing" +
                           (speaker.empty() ? "." : " while " + speaker + " speaks."));
  }
  if (words_of(snapshot, "trend") == "down") add_wrapped(lines, "MARKET DOWN: most breakouts fail in a falling market.");
}

// --- feeds and recording

/// One line a feed, and one for each thing about it that somebody has to look at.
void add_feed(Lines& lines, const OrderedJson& feed, bool brief_only) {
  const std::string text = words_of(feed, "text"), state = words_of(feed, "state");
  const bool said = text.starts_with(state);  // "connecting to ..."
  add_wrapped(lines,
              "feed " + words_of(feed, "name") + ": " + (said ? "" : state) + (said || text.empty() ? "" : ", ") + text);
  if (brief_only) return;
  if (const auto malformed = feed.value("malformed", std::uint64_t{0}); malformed > 0) {
    add_wrapped(lines, "  " + std::to_string(malformed) + (malformed == 1 ? " message" : " messages") +
                           " could not be read; the last: " + words_of(feed, "example"));
  }
  std::string codes;
  const OrderedJson unknown = feed.value("unknown_codes", OrderedJson::object());
  for (const auto& [code, count] : unknown.items())
    codes += " \"" + clean_line(code, 20) + "\" " + std::to_string(count.get<std::uint64_t>()) + " times";
  if (!codes.empty())
    add_wrapped(lines, "  sale conditions that are not mapped (such trades move no price; see condition_words):" + codes);
}

void add_feeds(Lines& lines, const OrderedJson& snapshot, bool brief_only) {
  constexpr std::size_t kShown = 2;
  const OrderedJson& feeds = snapshot.at("feeds");
  for (std::size_t i = 0; i < feeds.size(); ++i) {
    if (brief_only && i == kShown && feeds.size() > kShown + 1)
      return lines.push_back({"and " + std::to_string(feeds.size() - i) + " feeds more", Style::plain});
    add_feed(lines, feeds[i], brief_only);
  }
}

/// Of several machines: who speaks, since when, who stands by, and how fresh that is.
void add_voice(Lines& lines, const OrderedJson& shared) {
  if (!shared.is_object()) return;
  std::string others;
  for (const OrderedJson& member : shared.value("members", OrderedJson::array()))
    if (!member.value("speaks", false)) others += (others.empty() ? "" : ", ") + words_of(member, "name");
  const std::string speaker = words_of(shared, "speaker"), since = words_of(shared, "speaks_since");
  const std::string from = since.size() > 19 ? " since " + since.substr(11, 8) : "";
  const double silent = shared.value("silent_seconds", 0.0);
  add_wrapped(lines, (speaker.empty() ? "nobody speaks that is known of" : speaker + " speaks" + from) +
                         (others.empty() ? "; nobody stands by" : "; standing by: " + others) + "; etcd answered " +
                         span_text(static_cast<Nanos>(silent * 1e9)) + " ago");
  if (const auto waiting = shared.value("answers_waiting", std::uint64_t{0}); waiting > 0)
    add_wrapped(lines, std::to_string(waiting) + " of your answers the other machines do not know yet", Style::warning);
}

void add_recording(Lines& lines, const OrderedJson& recording) {
  if (recording.is_null()) return;
  const auto count = [&](const char* key) { return recording.value(key, std::uint64_t{0}); };
  std::string text = "recording: " + brief(static_cast<double>(count("ticks"))) + " ticks and " +
                     brief(static_cast<double>(count("frames"))) + " frames kept, " +
                     formed("%.1f MiB on disk", static_cast<double>(count("bytes")) / 1048576);
  if (count("dropped_ticks") + count("dropped_frames") > 0) {
    text += "; lost " + std::to_string(count("dropped_ticks")) + " ticks and " + std::to_string(count("dropped_frames")) +
            " frames";
  }
  add_wrapped(lines, text);
  if (const std::string trouble = words_of(recording, "trouble"); !trouble.empty())
    add_wrapped(lines, "recording: " + trouble, Style::warning);
}

/// Of what is in force: the first, and how many more there are.
void add_doubts(Lines& lines, const OrderedJson& configuration) {
  const OrderedJson warnings =
      configuration.is_object() ? configuration.value("warnings", OrderedJson::array()) : OrderedJson::array();
  if (warnings.empty() || !warnings[0].is_string()) return;
  const std::string more =
      warnings.size() == 1 ? "" : " (and " + std::to_string(warnings.size() - 1) + " more; brimwatch check has all)";
  add_wrapped(lines, "configuration: " + clean_line(warnings[0].get<std::string>(), 300) + more);
}

// --- the watches

bool in_force(const OrderedJson& watch) { return watch.value("in_force", true); }

/// Where it stands, as the page says it (config/page/standing.js): a failed breakout is not the same as one that never
/// came, and a price that has slipped under the pivot does not read as inside.
std::string standing_of(const OrderedJson& watch) {
  std::string side = words_of(watch, "side");
  const auto last = number_of(watch, "last"), high = number_of(watch, "day_high");
  const double pivot = number_of(watch, "pivot").value_or(0);
  if (side == "inside") return last && *last < pivot ? "just under" : side;
  if (side == "unknown") return "no trade";
  if (side != "under") return side;
  return (high && *high >= pivot) || !watch.value("armed", true) ? "fell back" : side;
}

/// Smaller is sooner: inside by weight, then by the distance to the pivot; at last what is not in force.
std::pair<int, double> soonness(const OrderedJson& watch) {
  if (!in_force(watch)) return {4, 0};
  const double distance = std::abs(number_of(watch, "distance").value_or(1e9));
  if (words_of(watch, "side") != "inside") return {3, distance};
  const std::string weight = words_of(watch.at("volume"), "weight");
  return {weight == "heavy" ? 0 : weight == "light" ? 2 : 1, distance};
}

/// Of a watch that is not in force: when it is, or was. RFC 3339 dates compare as text.
std::string days_in_force(const OrderedJson& watch, const std::string& today) {
  const std::string from = words_of(watch, "from"), until = words_of(watch, "until");
  if (!from.empty() && from > today) return ", but from " + from + " on";
  return until.empty() ? "" : ", ended " + until;
}

ScreenLine idle_line(const OrderedJson& watch, const std::string& today) {
  return {cut(formed("%-8s %9s %9s %8s not in force today", symbol_cell(watch).c_str(), "-",
                     price_cell(watch, "pivot").c_str(), "-") +
                  days_in_force(watch, today),
              kScreenColumns),
          Style::dim};
}

/// Nothing has come of it today: that is not a light day.
bool is_unheard(const OrderedJson& watch) {
  return !number_of(watch, "last") && number_of(watch.at("volume"), "so_far").value_or(0) == 0;
}

ScreenLine watch_line(const OrderedJson& watch) {
  const OrderedJson& volume = watch.at("volume");
  const bool unheard = is_unheard(watch);
  const std::string weight = unheard ? "not heard" : words_of(volume, "weight");
  const auto distance = number_of(watch, "distance"), surge = number_of(volume, "surge"),
             odds = number_of(volume, "odds");
  std::string line = formed(
      "%-8s %9s %9s %8s %-10s %6s %7s %5s %-9s", symbol_cell(watch).c_str(), price_cell(watch, "last").c_str(),
      price_cell(watch, "pivot").c_str(), distance ? percent_text(*distance, 2).c_str() : "-", standing_of(watch).c_str(),
      brief(number_of(volume, "so_far").value_or(0)).c_str(), surge && !unheard ? percent_text(*surge, 0).c_str() : "-",
      odds && !unheard ? odds_text(*odds, weight_of(weight).value_or(Weight::unknown)).c_str() : "-", weight.c_str());
  line.erase(line.find_last_not_of(' ') + 1);
  return {cut(line, kScreenColumns), weight == "heavy" ? Style::bold : weight == "light" ? Style::dim : Style::plain};
}

std::vector<OrderedJson> sorted_watches(const OrderedJson& snapshot) {
  std::vector<OrderedJson> watches(snapshot.at("watches").begin(), snapshot.at("watches").end());
  std::stable_sort(watches.begin(), watches.end(),
                   [](const OrderedJson& a, const OrderedJson& b) { return soonness(a) < soonness(b); });
  return watches;
}

/// "and 27 more: 3 fell back, 24 under"
std::string left_out(const std::vector<OrderedJson>& watches, std::size_t from) {
  std::map<std::string, int> counts;
  for (std::size_t i = from; i < watches.size(); ++i)
    ++counts[in_force(watches[i]) ? standing_of(watches[i]) : "not in force"];
  std::string text;
  for (const auto& [standing, count] : counts)
    text += (text.empty() ? "" : ", ") + std::to_string(count) + " " + standing;
  return "and " + std::to_string(watches.size() - from) + " more: " + text;
}

/// "KLVN 12, NIVO 3 and 27 more"
std::string first_few(const std::map<std::string, std::string>& of_stocks) {
  constexpr std::size_t kNamed = 8;
  std::string text;
  std::size_t named = 0;
  for (const auto& [symbol, words] : of_stocks) {
    if (named++ == kNamed) return text + " and " + std::to_string(of_stocks.size() - kNamed) + " more";
    text += (text.empty() ? "" : ", ") + symbol + " " + words;
  }
  return text;
}

/// Stocks whose normal volume rests on less than fifty days, or on days that we heard ourselves.
void add_past_days(Lines& lines, const std::vector<OrderedJson>& watches) {
  constexpr int kDaysWanted = 50;
  std::map<std::string, std::string> few, heard_by_us;
  for (const OrderedJson& watch : watches) {
    const int days = watch.value("history_days", 0), heard = watch.value("history_days_heard", 0);
    const std::string ours = std::to_string(heard) + " heard by us";
    if (days > 0 && days < kDaysWanted)
      few[words_of(watch, "symbol")] = std::to_string(days) + (heard > 0 ? " (" + ours + ")" : "");
    else if (heard > 0) heard_by_us[words_of(watch, "symbol")] = std::to_string(heard);
  }
  if (!few.empty()) add_wrapped(lines, "past days, fewer than the 50 of a normal volume: " + first_few(few));
  if (!heard_by_us.empty()) add_wrapped(lines, "of the 50 past days, heard by us: " + first_few(heard_by_us));
}

void add_watches(Lines& lines, const OrderedJson& snapshot, std::size_t rows) {
  lines.push_back({"", Style::plain});
  lines.push_back({formed("%-8s %9s %9s %8s %-10s %6s %7s %5s %s", "symbol", "last", "pivot", "to pivot", "side",
                          "volume", "surge", "odds", "weight"),
                   Style::plain});
  const std::vector<OrderedJson> watches = sorted_watches(snapshot);
  const std::string today = words_of(snapshot, "day");
  const std::size_t room = rows > lines.size() + 1 ? rows - lines.size() : 1;
  const bool all_fit = rows == 0 || watches.size() <= room;
  const std::size_t shown = all_fit ? watches.size() : room - 1;
  for (std::size_t i = 0; i < shown; ++i)
    lines.push_back(in_force(watches[i]) ? watch_line(watches[i]) : idle_line(watches[i], today));
  if (!all_fit) return lines.push_back({cut(left_out(watches, shown), kScreenColumns), Style::plain});
  const auto idle =
      std::count_if(watches.begin(), watches.end(), [](const OrderedJson& watch) { return !in_force(watch); });
  if (idle > 0 && rows == 0) {
    const std::size_t in_force_today = watches.size() - static_cast<std::size_t>(idle);
    lines.push_back({"", Style::plain});
    lines.push_back({std::to_string(watches.size()) + (watches.size() == 1 ? " watch, " : " watches, ") +
                         std::to_string(in_force_today) + " in force today",
                     Style::plain});
  }
  if (rows == 0) add_past_days(lines, watches);
  if (watches.empty()) {
    add_wrapped(lines, "no watches; add some to a watch list, then: brimwatch reload");
  }
}

// --- what is held back, and what keeps watches from telling

/// Prices that waited for the tape to agree.
void add_guard(Lines& lines, const OrderedJson& engine) {
  const auto dropped = engine.value("held_as_bad", std::uint64_t{0}),
             agreed = engine.value("confirmed", std::uint64_t{0});
  if (dropped + agreed == 0) return;
  add_wrapped(lines, "print guard: " + std::to_string(dropped + agreed) + " prices waited for the tape to agree, " +
                         std::to_string(agreed) + " were borne out");
}

/// Of watches in force; that no volume is judged stands in their rows.
void add_mute(Lines& lines, const OrderedJson& snapshot) {
  constexpr int kMost = 20;
  int told = 0;
  for (const OrderedJson& watch : sorted_watches(snapshot)) {
    for (const OrderedJson& cause : watch.value("mute", OrderedJson::array())) {
      const std::string text = cause;
      if (!in_force(watch) || text.find("volume is not judged") != std::string::npos) continue;
      if (++told == 1) lines.push_back({"", Style::plain});
      if (told <= kMost) add_wrapped(lines, words_of(watch, "symbol") + ": " + text);
    }
  }
  if (told > kMost) add_wrapped(lines, "and " + std::to_string(told - kMost) + " more of the kind; --json has them all");
}

}  // namespace

std::vector<ScreenLine> now_screen(const OrderedJson& snapshot, std::size_t rows) {
  Lines lines;
  const bool brief_only = rows > 0;
  add_warnings(lines, snapshot);
  const std::string time = words_of(snapshot, "time");
  lines.push_back({cut(words_of(snapshot, "day") + "  " + (time.size() > 18 ? time.substr(11, 8) : "") + ", session " +
                           words_of(snapshot, "session") + ", market " + words_of(snapshot, "trend"),
                       kScreenColumns),
                   Style::plain});
  add_feeds(lines, snapshot, brief_only);
  add_voice(lines, snapshot.value("shared", OrderedJson()));
  if (!brief_only) add_recording(lines, snapshot.value("recording", OrderedJson()));
  if (!brief_only) add_doubts(lines, snapshot.value("configuration", OrderedJson::object()));
  if (!brief_only) add_guard(lines, snapshot.value("engine", OrderedJson::object()));
  add_watches(lines, snapshot, rows);
  if (!brief_only) add_mute(lines, snapshot);
  return lines;
}

}  // namespace brimwatch
