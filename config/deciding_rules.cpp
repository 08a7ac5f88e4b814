#include "config/deciding_rules.h"

#include <algorithm>
#include <map>
#include <set>
#include <span>
#include <utility>

#include "config/sections/sections.h"

namespace brimwatch {
namespace {

constexpr std::size_t kRuledWatchesMost = 5'000, kRuledWatchesShown = 5;
constexpr std::string_view kRulesSection = "[rules]", kMoreSection = "[more]";

using Values = std::map<std::string, std::string, std::less<>>;  ///< by key
using Scopes = std::map<std::string, Values, std::less<>>;       ///< by section, or by the watch's name

void add_line(std::string& text, std::string_view scope, std::string_view key, const std::string& value) {
  if (!value.empty()) text.append(scope).append("\t").append(key).append("\t").append(value).append("\n");
}

/// A path is each machine's own.
bool is_comparable(const KeyInfo& key) {
  return key.shape.kind != Shape::Kind::path && key.shape.kind != Shape::Kind::paths;
}

template <typename T>
void add_section(std::string& text, std::string_view name, std::span<const Key<T>> keys, const T& values) {
  for (const Key<T>& key : keys)
    if (is_comparable(key) && key.set.show != nullptr) add_line(text, name, key.name, key.set.show(values, key.shape));
}

std::string name_of(const WatchList& watches, std::size_t i) {
  return watches.symbol(i) + " " + to_string(watches.pivot(i));
}

/// The market's own table of ticks, which the loader has put in the place of "market", is nobody's rule.
bool is_of_market(const Settings& settings, std::size_t i, const std::string& value) {
  return settings.rules.tick_table == TickTable::market && value == "\"" + settings.watches.calendar(i).text() + "\"";
}

/// What is not as [rules] and [session] have it.
std::string own_lines(const Settings& settings, std::size_t i) {
  std::string text;
  const std::string name = name_of(settings.watches, i);
  const Rules& own = settings.watches.rules(i);
  if (own != settings.rules)
    for (const Key<Rules>& key : rules_keys())
      if (const std::string value = key.set.show(own, key.shape);
          value != key.set.show(settings.rules, key.shape) && !is_of_market(settings, i, value))
        add_line(text, name, key.name, value);
  if (const auto volume = settings.watches.normal_volume(i))
    add_line(text, name, "normal_volume", format_micros(volume->micros, 0));
  const WatchList::Days days = settings.watches.days(i);
  if (days.from) add_line(text, name, "from", to_string(*days.from));
  if (days.until) add_line(text, name, "until", to_string(*days.until));
  if (const Mic& calendar = settings.watches.calendar(i); calendar.text() != settings.session.calendar)
    add_line(text, name, "calendar", "\"" + calendar.text() + "\"");
  return text;
}

std::set<std::string_view> lines_of(std::string_view text) {
  std::set<std::string_view> lines;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    if (end > 0) lines.insert(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return lines;
}

/// A line of another form is of a program to come, and passed over.
Scopes scopes_in(std::string_view text) {
  Scopes scopes;
  for (const std::string_view line : lines_of(text)) {
    const std::size_t first = line.find('\t'), second = line.find('\t', first + 1);
    if (first == std::string_view::npos || second == std::string_view::npos) continue;
    scopes[std::string(line.substr(0, first))][std::string(line.substr(first + 1, second - first - 1))] =
        line.substr(second + 1);
  }
  return scopes;
}

class Comparison {
 public:
  Comparison(const RuledSide& here, const RuledSide& there)
      : here_(here), there_(there), ours_(scopes_in(here.rules)), theirs_(scopes_in(there.rules)) {}

  std::vector<std::string> lines() {
    for (const std::string& scope : both(ours_, theirs_))
      if (scope.starts_with('[')) compare_section(scope);
    compare_watches();
    return std::move(lines_);
  }

 private:
  template <typename Map>
  static std::set<std::string> both(const Map& one, const Map& other) {
    std::set<std::string> names;
    for (const auto& [name, what] : one) names.insert(name);
    for (const auto& [name, what] : other) names.insert(name);
    return names;
  }

  static const Values& in(const Scopes& scopes, std::string_view scope) {
    static const Values none;
    const auto found = scopes.find(scope);
    return found == scopes.end() ? none : found->second;
  }
  static std::string value(const Values& values, std::string_view key) {
    const auto found = values.find(key);
    return found == values.end() ? std::string("not set") : found->second;
  }
  /// Of a watch: its own, or what holds for all.
  static std::string in_force(const Scopes& scopes, std::string_view watch, std::string_view key) {
    for (const std::string_view scope : {watch, kRulesSection, std::string_view("[session]")})
      if (const Values& values = in(scopes, scope); values.contains(key)) return value(values, key);
    return value({}, key);
  }

  void add(std::string_view scope, std::string_view key, const std::string& ours, const std::string& theirs) {
    lines_.push_back(std::string(scope)
                         .append(scope.starts_with('[') ? " " : ": ")
                         .append(key)
                         .append(": ")
                         .append(ours)
                         .append(" ")
                         .append(here_.name)
                         .append(", ")
                         .append(theirs)
                         .append(" ")
                         .append(there_.name));
  }

  void compare_section(const std::string& scope) {
    if (scope == kMoreSection) return;
    const Values &ours = in(ours_, scope), &theirs = in(theirs_, scope);
    for (const std::string& key : both(ours, theirs))
      if (value(ours, key) != value(theirs, key)) add(scope, key, value(ours, key), value(theirs, key));
  }

  /// One that is in one list alone is told elsewhere.
  void compare_watches() {
    const std::set<std::string_view> own = lines_of(here_.watches), other = lines_of(there_.watches);
    const bool cut = ours_.contains(kMoreSection) || theirs_.contains(kMoreSection);
    std::size_t more = 0, shown = 0;
    for (const std::string& watch : both(ours_, theirs_)) {
      if (!own.contains(watch) || !other.contains(watch)) continue;
      if (cut && !(ours_.contains(watch) && theirs_.contains(watch))) continue;
      if (!differs(watch)) continue;
      if (++shown > kRuledWatchesShown) ++more;
      else add_watch(watch);
    }
    if (more > 0) lines_.push_back("and " + std::to_string(more) + " more watches");
  }

  [[nodiscard]] std::vector<std::string> keys_that_differ(const std::string& watch) const {
    std::vector<std::string> keys;
    for (const std::string& key : both(in(ours_, watch), in(theirs_, watch)))
      if (in_force(ours_, watch, key) != in_force(theirs_, watch, key)) keys.push_back(key);
    return keys;
  }
  [[nodiscard]] bool differs(const std::string& watch) const { return !keys_that_differ(watch).empty(); }
  void add_watch(const std::string& watch) {
    for (const std::string& key : keys_that_differ(watch))
      add(watch, key, in_force(ours_, watch, key), in_force(theirs_, watch, key));
  }

  RuledSide here_, there_;
  Scopes ours_, theirs_;
  std::vector<std::string> lines_;
};

}  // namespace

std::string deciding_rules_text(const Settings& settings) {
  std::string text;
  add_section(text, kRulesSection, rules_keys(), settings.rules);
  add_section(text, "[market]", market_keys(), settings.market);
  add_section(text, "[session]", session_keys(), settings.session);
  std::size_t watches = 0, more = 0;
  for (std::size_t i = 0; i < settings.watches.size(); ++i) {
    const std::string own = own_lines(settings, i);
    if (own.empty()) continue;
    if (++watches > kRuledWatchesMost) ++more;
    else text += own;
  }
  if (more > 0) add_line(text, kMoreSection, "watches", std::to_string(more));
  return text;
}

std::vector<std::string> rule_differences(const RuledSide& here, const RuledSide& there) {
  return Comparison(here, there).lines();
}

}  // namespace brimwatch
