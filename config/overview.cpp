#include "config/overview.h"

#include <algorithm>
#include <array>
#include <set>
#include <string_view>

#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kColumns = 6;
using Row = std::array<std::string, kColumns>;
constexpr std::array<bool, kColumns> kRight{false, true, true, true, false, false};

std::string count_of(std::size_t n, std::string_view one, std::string_view many) {
  return std::to_string(n).append(" ").append(n == 1 ? one : many);
}

std::string volume_text(const NormalVolume& normal) {
  switch (normal.from) {
    case NormalVolume::From::list:
      return brief(normal.shares.as_double()) + ", given";
    case NormalVolume::From::history:
      return brief(normal.shares.as_double()) + ", " + count_of(static_cast<std::size_t>(normal.days), "day", "days") +
             " to " + to_string(normal.last);
    case NormalVolume::From::unknown:
      return "unknown: cannot be judged";
  }
  return {};
}

bool in_force(const Watch& watch, Date today) {
  return (!watch.from || *watch.from <= today) && (!watch.until || today <= *watch.until);
}

/// "from 2026-11-02, until 2026-12-31"; of a known day, what is over and what is to come.
void add_span(const Watch& watch, std::optional<Date> today, const std::function<void(const std::string&)>& add) {
  if (watch.from && (!today || *today < *watch.from)) add("from " + to_string(*watch.from));
  if (!watch.until) return;
  add((today && *watch.until < *today ? "ended " : "until ") + to_string(*watch.until));
}

/// Its span, a calendar that is not the usual one, the learned part of the tape.
std::string remarks(const Watch& watch, const NormalVolume& normal, const Overview& overview) {
  const Settings& settings = overview.settings;
  std::string out;
  const auto add = [&](const std::string& part) { out.append(out.empty() ? "" : ", ").append(part); };
  add_span(watch, overview.today, add);
  if (std::string_view(watch.calendar) != settings.session.calendar) add(watch.calendar.text());
  if (normal.feed_ratio > 0) {
    std::string percent = std::to_string(static_cast<int>(normal.feed_ratio * 100 + 0.5));
    add("feed carries " + percent + " % of the tape");
  }
  return out;
}

void append_padded(std::string& out, std::string_view text, std::size_t width, bool right) {
  const std::size_t length = length_of(text);
  const std::string blanks(width > length ? width - length : 0, ' ');
  if (right) out += blanks;
  out += text;
  if (!right) out += blanks;
}

void append_row(std::string& out, const Row& row, const std::array<std::size_t, kColumns>& widths) {
  std::string line;
  for (std::size_t i = 0; i < kColumns; ++i) {
    if (i > 0) line += "  ";
    append_padded(line, row[i], widths[i], kRight[i]);
  }
  line.erase(line.find_last_not_of(' ') + 1);
  out += line + "\n";
}

bool shown(const Overview& overview, const Watch& watch) {
  return overview.only.empty() ||
         std::find(overview.only.begin(), overview.only.end(), watch.symbol) != overview.only.end();
}

std::string named_list(const std::vector<std::pair<std::string, std::string>>& all) {
  std::string out;
  for (const auto& [name, kind] : all) {
    if (!out.empty()) out += ", ";
    out += name;
    if (name != kind) out.append(" (").append(kind).append(")");
  }
  return out.empty() ? "none" : out;
}

template <typename T>
std::string names_of(const std::vector<T>& all) {
  std::vector<std::pair<std::string, std::string>> names;
  for (const T& one : all) {
    if (one.enabled) names.emplace_back(one.name, one.kind);
  }
  return named_list(names);
}

struct Counts {
  std::size_t watches = 0, symbols = 0, in_force = 0, unjudged = 0;
};

std::string foot(const Overview& overview, const Counts& counts) {
  const Settings& settings = overview.settings;
  std::string out =
      "\n" + count_of(counts.watches, "watch", "watches") + " on " + count_of(counts.symbols, "symbol", "symbols");
  if (overview.today) out += ", " + std::to_string(counts.in_force) + " in force on " + to_string(*overview.today);
  if (counts.unjudged > 0)
    out += "; " + std::to_string(counts.unjudged) +
           " without a normal\n  volume: give normal_volume, or daily bars in [history]";
  out.append("\nmarket    ").append(to_string(overview.trend));
  if (!overview.trend_source.empty()) out += ", " + overview.trend_source;
  out += "\nfeeds     " + names_of(settings.feeds);
  out += "\nchannels  " + names_of(settings.channels);
  return out + "\n";
}

void append_key(std::string& out, std::string_view key) {
  out += out.back() == '{' ? "\"" : ",\"";
  out.append(key).append("\":");
}

void append_text(std::string& out, std::string_view key, std::string_view text) {
  append_key(out, key);
  if (text.empty()) out += "null";
  else append_json_string(out, text);
}

void append_raw(std::string& out, std::string_view key, const std::string& number) {
  append_key(out, key);
  out += number.empty() ? "null" : number;
}

std::string_view word_of(NormalVolume::From from) {
  switch (from) {
    case NormalVolume::From::list:
      return "list";
    case NormalVolume::From::history:
      return "history";
    case NormalVolume::From::unknown:
      return "unknown";
  }
  return {};
}

std::string ratio_text(double ratio) {
  return ratio > 0 ? format_micros(static_cast<std::int64_t>(ratio * 1e6 + 0.5), 2) : std::string();
}

void append_object(std::string& out, const Watch& watch, const NormalVolume& normal, const Settings& settings) {
  const bool known = normal.from != NormalVolume::From::unknown;
  out += "{";
  append_text(out, "symbol", watch.symbol);
  append_raw(out, "pivot", to_string(watch.pivot));
  append_raw(out, "range_top", to_string(watch.range_top));
  append_raw(out, "rearm_level", to_string(watch.rearm_level));
  append_raw(out, "slip_level", to_string(watch.slip_level));
  append_raw(out, "loss_limit", to_string(watch.loss_limit));
  append_raw(out, "tick_size", to_string(tick_at(watch.rules, watch.pivot)));
  append_raw(out, "needed_surge", format_micros(watch.rules.surge, 0));
  append_raw(out, "normal_volume", known ? to_string(normal.shares) : "");
  append_text(out, "normal_volume_from", word_of(normal.from));
  append_raw(out, "normal_volume_days", normal.from == NormalVolume::From::history ? std::to_string(normal.days) : "");
  append_text(out, "normal_volume_to", normal.from == NormalVolume::From::history ? to_string(normal.last) : "");
  append_raw(out, "feed_ratio", ratio_text(normal.feed_ratio));
  append_text(out, "from", watch.from ? to_string(*watch.from) : "");
  append_text(out, "until", watch.until ? to_string(*watch.until) : "");
  append_text(out, "calendar", watch.calendar);
  append_text(out, "tape", watch.tape == Tape::utdf ? "utdf" : "cts");
  append_text(out, "note", watch.note);
  append_text(out, "file", watch.file < settings.files.size() ? settings.files[watch.file] : std::string());
  append_raw(out, "line", std::to_string(watch.line));
  out += "}\n";
}

}  // namespace

std::string overview_table(const Overview& overview) {
  std::vector<Row> rows{{"symbol", "pivot", "range to", "loss at", "normal volume", "remarks"}};
  std::set<std::string_view> symbols;
  Counts counts;
  const WatchList& watches = overview.settings.watches;
  for (std::size_t i = 0; i < watches.size(); ++i) {
    const Watch watch = watches[i];
    if (!shown(overview, watch)) continue;
    const NormalVolume normal = overview.normal_of(watch);
    counts.unjudged += normal.from == NormalVolume::From::unknown;
    counts.in_force += overview.today && in_force(watch, *overview.today);
    symbols.insert(watches.symbol(i));
    rows.push_back({watch.symbol, to_string(watch.pivot), to_string(watch.range_top), to_string(watch.loss_limit),
                    volume_text(normal), remarks(watch, normal, overview)});
  }
  std::array<std::size_t, kColumns> widths{};
  for (const Row& row : rows) {
    for (std::size_t i = 0; i < kColumns; ++i) widths[i] = std::max(widths[i], length_of(row[i]));
  }
  std::string out;
  for (const Row& row : rows) append_row(out, row, widths);
  counts.watches = rows.size() - 1;
  counts.symbols = symbols.size();
  return out + foot(overview, counts);
}

std::string overview_json(const Overview& overview) {
  std::string out;
  for (const Watch& watch : overview.settings.watches) {
    if (shown(overview, watch)) append_object(out, watch, overview.normal_of(watch), overview.settings);
  }
  return out;
}

}  // namespace brimwatch
