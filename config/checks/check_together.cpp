#include "config/checks/check_together.h"

#include <algorithm>
#include <string_view>

namespace brimwatch {
namespace {

bool is_known(const ReadConfiguration& read, std::string_view calendar) {
  if (read.calendars.empty() || !read.settings.session.calendar_files.empty()) return true;
  return std::find(read.calendars.begin(), read.calendars.end(), calendar) != read.calendars.end();
}

std::string listed(const std::vector<std::string>& names) {
  std::string all;
  for (const std::string& one : names) all.append(all.empty() ? "" : ", ").append(one);
  return all;
}

void check_calendar(const ReadConfiguration& read, std::string_view calendar, const Place& place, Problems& errors) {
  if (is_known(read, calendar)) return;
  errors.add(place, "calendar: found " + in_quotes(calendar) + ", expected one of " + listed(read.calendars) +
                        ", or calendar_files; nothing was loaded");
}

void check_calendars(const ReadConfiguration& read, Problems& errors) {
  const std::string& usual = read.settings.session.calendar;
  const Entry* session = read.main.find("session");
  if (session != nullptr && session->value.find("calendar") != nullptr)
    check_calendar(read, usual, session->value.find("calendar")->value.place, errors);
  Mic last;
  const WatchList& watches = read.settings.watches;
  for (std::size_t i = 0; i < watches.size(); ++i) {
    const Mic& calendar = watches.calendar(i);
    if (calendar == last || std::string_view(calendar) == usual) continue;
    const Watch watch = watches[i];
    check_calendar(read, calendar, {watch.file, watch.line, watch.column}, errors);
    last = calendar;
  }
}

/// Where `key` of the feed of that name stands, else the feed itself.
Place place_in_feed(const Value& main, const std::string& name, std::string_view key) {
  const Entry* feeds = main.find("feed");
  if (feeds == nullptr) return {};
  const auto is_it = [&](const Value& table) {
    const Entry* own = table.find("name");
    return (own != nullptr ? own->value.text : FeedSettings{}.name) == name;
  };
  const Value& value = feeds->value;
  const auto in_list = std::find_if(value.items.begin(), value.items.end(), is_it);
  const Value& feed = in_list == value.items.end() ? value : *in_list;
  const Entry* entry = feed.find(key);
  return entry != nullptr ? entry->place : feed.place;
}

void check_standbys(const ReadConfiguration& read, Reading reading) {
  reading.section = "feed";
  reading.key = "standby_for";
  const auto& feeds = read.settings.feeds;
  for (const FeedSettings& feed : feeds) {
    const std::string& wanted = feed.standby_for;
    if (wanted.empty()) continue;
    reading.name = feed.name;
    const bool known =
        std::any_of(feeds.begin(), feeds.end(), [&](const FeedSettings& other) { return other.name == wanted; });
    if (!known || wanted == feed.name)
      reading.refuse(place_in_feed(read.main, feed.name, "standby_for"), in_quotes(wanted), "the name of another feed");
  }
}

void check_evening(const ReadConfiguration& read, Reading reading) {
  const Entry* section = read.main.find("evening");
  const Entry* entry = section != nullptr ? section->value.find("channels") : nullptr;
  if (entry == nullptr) return;
  reading.section = "[evening]";
  reading.key = "channels";
  std::vector<std::string> known;
  for (const ChannelSettings& channel : read.settings.channels)
    known.push_back(channel.name.empty() ? channel.kind : channel.name);
  const std::vector<std::string>& names = read.settings.evening.channels;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (std::find(known.begin(), known.end(), names[i]) != known.end()) continue;
    const Place place = i < entry->value.items.size() ? entry->value.items[i].place : entry->value.place;
    reading.refuse(place, in_quotes(names[i]),
                   known.empty() ? "a channel, and there is none" : "one of " + listed(known));
  }
}

/// A past day and this one cannot be watched together: their clocks differ.
void check_rehearsal(const ReadConfiguration& read, Reading reading) {
  const auto& feeds = read.settings.feeds;
  const auto is_live = [](const FeedSettings& feed) { return feed.enabled && feed.rehearsal <= 0; };
  const auto plays = [](const FeedSettings& feed) { return feed.enabled && feed.rehearsal > 0; };
  const auto live = std::find_if(feeds.begin(), feeds.end(), is_live);
  if (live == feeds.end() || !std::any_of(feeds.begin(), feeds.end(), plays)) return;
  reading.section = "feed";
  reading.name = live->name;
  reading.key = "rehearsal";
  reading.tell(place_in_feed(read.main, live->name, "rehearsal"),
               "found none, expected it here too: a feed that plays a past day cannot stand beside a live one");
}

void warn_of_zones(const ReadConfiguration& read, Problems& warnings) {
  const auto& channels = read.settings.channels;
  const bool named = std::any_of(channels.begin(), channels.end(),
                                 [](const ChannelSettings& channel) { return !channel.quiet.zone.empty(); });
  if (named && !read.zones.known())
    warnings.add({0, 0, 0}, "zone: this machine has no time zone database (" + read.zones.folder() +
                                "), so that quiet hours follow its own clock; is the tzdata package installed?");
}

/// Feeds and files are asked for a symbol as it is written; exchanges write capitals.
void warn_of_small_letters(const WatchList& watches, Problems& warnings) {
  std::vector<bool> told(watches.symbols().size());
  for (std::size_t i = 0; i < watches.size(); ++i) {
    const std::string& symbol = watches.symbol(i);
    const bool small = std::any_of(symbol.begin(), symbol.end(), [](char c) { return c >= 'a' && c <= 'z'; });
    if (!small || told[watches.symbol_number(i)]) continue;
    told[watches.symbol_number(i)] = true;
    const Watch watch = watches[i];
    warnings.add(
        {watch.file, watch.line, watch.column},
        "watch " + in_quotes(symbol) + ": symbol: found small letters; a feed that writes capitals will not match");
  }
}

}  // namespace

void check_together(const ReadConfiguration& read, const Reading& reading, Problems& warnings) {
  check_calendars(read, reading.errors);
  check_standbys(read, reading);
  check_evening(read, reading);
  check_rehearsal(read, reading);
  warn_of_zones(read, warnings);
  warn_of_small_letters(read.settings.watches, warnings);
}

}  // namespace brimwatch
