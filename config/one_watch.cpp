#include "config/one_watch.h"

#include <utility>

#include "config/watches.h"

namespace brimwatch {
namespace {

Entry entry_of(std::string key, const std::string& text) {
  Entry entry;
  entry.key = std::move(key);
  entry.value.kind = Value::Kind::cell;  // as in a CSV list: it may stand for anything
  entry.value.text = text;
  return entry;
}

Value table_of(const WatchInWords& words) {
  Value table;
  table.kind = Value::Kind::table;
  table.entries.push_back(entry_of("symbol", words.symbol));
  table.entries.push_back(entry_of("pivot", words.pivot));
  if (!words.note.empty()) table.entries.push_back(entry_of("note", words.note));
  if (!words.until.empty()) table.entries.push_back(entry_of("until", words.until));
  return table;
}

/// Nothing was to be loaded here.
std::string as_said_of_one(std::string text) {
  constexpr std::string_view kOfLists = "; nothing was loaded";
  if (text.ends_with(kOfLists)) text.resize(text.size() - kOfLists.size());
  return text + "; nothing was changed";
}

WatchDefaults defaults_of(const Settings& settings) {
  WatchDefaults defaults;
  defaults.rules = settings.rules;
  defaults.calendar = settings.session.calendar;
  if (!settings.feeds.empty() && settings.feeds.front().conditions == "utdf") defaults.tape = Tape::utdf;
  return defaults;
}

/// A symbol trades in one place.
void take_place_of_symbol(Watch& watch, const WatchList& watches) {
  for (std::size_t i = 0; i < watches.size(); ++i) {
    if (watches.symbol(i) != watch.symbol) continue;
    const Watch there = watches[i];
    watch.calendar = there.calendar;
    watch.tape = there.tape;
    watch.listing = there.listing;
    return;
  }
}

}  // namespace

Result<Watch> read_one_watch(const WatchInWords& words, const Settings& settings) {
  Problems errors;
  Reading reading{.errors = errors, .directory = {}, .home = {}, .section = "watch", .name = words.symbol};
  WatchList list;
  add_watch(table_of(words), defaults_of(settings), reading, list);
  if (!errors.empty()) return fail(as_said_of_one(errors.take({""}).front().text));
  Watch watch = list[0];
  take_place_of_symbol(watch, settings.watches);
  return watch;
}

}  // namespace brimwatch
