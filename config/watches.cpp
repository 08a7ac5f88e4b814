#include "config/watches.h"

#include <algorithm>
#include <numeric>
#include <span>
#include <utility>

#include "config/checks/checks.h"

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

void tell_twice(const Watch& first, const Watch& second, const std::vector<std::string>& files, Problems& warnings) {
  warnings.add({second.file, second.line, second.column}, "watch " + in_quotes(second.symbol) + ": pivot: found " +
                                                              to_string(second.pivot) + " a second time; the watch in " +
                                                              place_of(first, files) + " holds, this one was left out");
}

void tell_calendars(const Watch& first, const Watch& second, const std::vector<std::string>& files, Problems& errors) {
  errors.add({second.file, second.line, second.column},
             "watch " + in_quotes(second.symbol) + ": calendar: found " + in_quotes(second.calendar) + ", expected " +
                 in_quotes(first.calendar) + " as in " + place_of(first, files) +
                 ": a symbol has one calendar; nothing was loaded");
}

/// Places of the symbols in the alphabet, by their number.
std::vector<std::uint32_t> ranks(const WatchList& watches) {
  const auto& symbols = watches.symbols();
  std::vector<std::uint32_t> order(symbols.size()), rank(symbols.size());
  std::iota(order.begin(), order.end(), 0U);
  std::sort(order.begin(), order.end(), [&](std::uint32_t a, std::uint32_t b) { return symbols[a] < symbols[b]; });
  for (std::uint32_t i = 0; i < order.size(); ++i) rank[order[i]] = i;
  return rank;
}

struct Ordered {
  Price pivot;
  std::uint32_t rank, index;  ///< of the symbol in the alphabet; of the watch in the list
};

/// Where two watches of one symbol say different calendars.
void check_symbol(std::span<const Ordered> all, const WatchList& watches, const std::vector<std::string>& files,
                  Problems& errors) {
  const auto by_place = [](const Ordered& a, const Ordered& b) { return a.index < b.index; };
  const std::uint32_t first =
      std::min_element(all.begin(), all.end(), by_place)->index;  // the others are held against it
  for (const Ordered& one : all) {
    if (watches.calendar(one.index) != watches.calendar(first))
      tell_calendars(watches[first], watches[one.index], files, errors);
  }
}

/// By symbol, pivot and place, so that what is the same stands together.
std::vector<Ordered> in_order(const WatchList& watches) {
  const std::vector<std::uint32_t> rank = ranks(watches);
  std::vector<Ordered> order;
  order.reserve(watches.size());
  for (std::uint32_t i = 0; i < watches.size(); ++i)
    order.push_back({watches.pivot(i), rank[watches.symbol_number(i)], i});
  std::sort(order.begin(), order.end(), [](const Ordered& a, const Ordered& b) {
    if (a.rank != b.rank) return a.rank < b.rank;
    return a.pivot != b.pivot ? a.pivot < b.pivot : a.index < b.index;
  });
  return order;
}

/// Places in the list of those that say again what one before them says.
std::vector<std::uint32_t> repeated(std::span<const Ordered> order, const WatchList& watches,
                                    const std::vector<std::string>& files, Problems& warnings) {
  std::vector<std::uint32_t> out;
  for (std::size_t i = 1, first = 0; i < order.size(); ++i) {
    const bool is_same = order[i].rank == order[first].rank && order[i].pivot == order[first].pivot;
    if (!is_same) {
      first = i;
      continue;
    }
    tell_twice(watches[order[first].index], watches[order[i].index], files, warnings);
    out.push_back(order[i].index);
  }
  return out;
}

void leave_out(WatchList& watches, const std::vector<std::uint32_t>& indexes) {
  if (indexes.empty()) return;
  std::vector<bool> is_out(watches.size());
  for (const std::uint32_t index : indexes) is_out[index] = true;
  WatchList kept;
  kept.reserve(watches.size() - indexes.size());
  for (std::size_t i = 0; i < watches.size(); ++i)
    if (!is_out[i]) kept.push_back(watches[i]);
  watches = std::move(kept);
}

}  // namespace

WatchDraft WatchDefaults::draft() const {
  WatchDraft draft;
  draft.rules = rules;
  draft.calendar = calendar;
  draft.tape = tape;
  return draft;
}

void add_watch(const Value& table, const WatchDefaults& defaults, Reading& reading, WatchList& into) {
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
  if (good) into.push_back(draft);
}

void add_watches(const Value& value, const WatchDefaults& defaults, Reading& reading, WatchList& into) {
  if (value.kind != Value::Kind::list) return add_watch(value, defaults, reading, into);
  into.reserve(into.size() + value.items.size());
  for (const Value& item : value.items) {
    if (!is_room(into, defaults.most, item.place, reading)) return;
    add_watch(item, defaults, reading, into);
  }
}

bool is_room(const WatchList& watches, std::size_t most, const Place& place, Reading& reading) {
  if (watches.size() < most) return true;
  reading.section = {};
  reading.name = {};
  reading.key = {};
  return reading.tell(place, "found more than " + std::to_string(most) + " watches, expected at most so many");
}

void check_among(WatchList& watches, const std::vector<std::string>& files, Problems& errors, Problems& warnings) {
  const std::vector<Ordered> order = in_order(watches);
  for (std::size_t i = 0, end = 0; i < order.size(); i = end) {
    while (end < order.size() && order[end].rank == order[i].rank) ++end;
    check_symbol(std::span(order).subspan(i, end - i), watches, files, errors);
  }
  leave_out(watches, repeated(order, watches, files, warnings));
}

}  // namespace brimwatch
