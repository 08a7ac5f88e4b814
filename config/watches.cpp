#include "config/watches.h"

#include <algorithm>
#include <numeric>
#include <utility>

#include "config/checks.h"

namespace brimwatch {
namespace {

/// Reads one entry of a watch: a key of its own, or one of the rules. `rule` is set in the second case.
bool read_entry(WatchDraft& draft, const Entry& entry, Reading& reading, Seen& seen, bool& rule) {
  if (const auto* key = find_key(watch_keys(), entry.key)) {
    seen.add(key->name, entry.value.place);
    reading.key = key->name;
    return key->set(draft, entry.value, key->shape, reading);
  }
  if (const auto* key = find_key(rules_keys(), entry.key)) {
    rule = true;
    seen.add(key->name, entry.value.place);
    reading.key = key->name;
    return key->set(draft.rules, entry.value, key->shape, reading);
  }
  return refuse_unknown(entry, all_sections().back().keys, reading);
}

std::string place_of(const Watch& watch, const std::vector<std::string>& files) {
  return files[watch.file] + ":" + std::to_string(watch.line);
}

void tell_twice(const Watch& first, const Watch& second, const std::vector<std::string>& files, Problems& errors) {
  errors.add({second.file, second.line, second.column}, "watch " + in_quotes(second.symbol) + ": pivot: found " +
                                                            to_string(second.pivot) + " a second time (first in " +
                                                            place_of(first, files) +
                                                            "), expected each symbol and pivot once; nothing was loaded");
}

void tell_calendars(const Watch& first, const Watch& second, const std::vector<std::string>& files, Problems& errors) {
  errors.add({second.file, second.line, second.column},
             "watch " + in_quotes(second.symbol) + ": calendar: found " + in_quotes(second.calendar) + ", expected " +
                 in_quotes(first.calendar) + " as in " + place_of(first, files) +
                 ": a symbol has one calendar; nothing was loaded");
}

}  // namespace

WatchDraft WatchDefaults::draft() const {
  WatchDraft draft;
  draft.rules = rules;
  draft.calendar = calendar;
  draft.tape = tape;
  return draft;
}

void add_watch(const Value& table, const WatchDefaults& defaults, Reading& reading, std::vector<Watch>& into) {
  reading.section = "watch";
  reading.key = {};
  const Entry* symbol = table.find("symbol");
  reading.name = symbol != nullptr ? symbol->value.text.substr(0, 64) : std::string();
  if (table.kind != Value::Kind::table) {
    reading.refuse(table.place, describe(table), "a table with symbol and pivot");
    return;
  }
  WatchDraft draft = defaults.draft();
  Seen seen;
  bool own_rules = false;
  bool good = true;
  for (const Entry& entry : table.entries) good = read_entry(draft, entry, reading, seen, own_rules) && good;
  good = check_watch(draft, seen, own_rules, table.place, reading) && good;
  if (good) into.push_back(std::move(draft));
}

void add_watches(const Value& value, const WatchDefaults& defaults, Reading& reading, std::vector<Watch>& into) {
  if (value.kind != Value::Kind::list) return add_watch(value, defaults, reading, into);
  into.reserve(into.size() + value.items.size());
  for (const Value& item : value.items) add_watch(item, defaults, reading, into);
}

void check_among(const std::vector<Watch>& watches, const std::vector<std::string>& files, Problems& errors) {
  std::vector<std::uint32_t> order(watches.size());
  std::iota(order.begin(), order.end(), 0U);
  std::sort(order.begin(), order.end(), [&](std::uint32_t a, std::uint32_t b) {
    if (const int by_symbol = watches[a].symbol.compare(watches[b].symbol); by_symbol != 0) return by_symbol < 0;
    if (watches[a].pivot != watches[b].pivot) return watches[a].pivot < watches[b].pivot;
    return a < b;
  });
  std::size_t first = 0;  // of the symbol, in the order of the files: what the others are held against
  for (std::size_t i = 0; i < order.size();) {
    std::size_t end = i;
    first = i;
    for (; end < order.size() && watches[order[end]].symbol == watches[order[i]].symbol; ++end) {
      if (order[end] < order[first]) first = end;
    }
    for (std::size_t k = i; k < end; ++k) {
      const Watch& watch = watches[order[k]];
      if (watch.calendar != watches[order[first]].calendar) tell_calendars(watches[order[first]], watch, files, errors);
      if (k > i && watches[order[k - 1]].pivot == watch.pivot) tell_twice(watches[order[k - 1]], watch, files, errors);
    }
    i = end;
  }
}

}  // namespace brimwatch
