#include "config/loader.h"

#include <algorithm>
#include <filesystem>
#include <optional>
#include <set>
#include <span>
#include <utility>

#include "config/checks/check_together.h"
#include "config/checks/checks.h"
#include "config/paths.h"
#include "config/reading/document.h"
#include "config/reading/key_place.h"
#include "config/reading/list_files.h"
#include "config/reading/nearest.h"
#include "config/reading/text.h"
#include "config/watches.h"
#include "files/text_file.h"

namespace brimwatch {
namespace {

constexpr std::uint64_t kTomlMost = 16ULL << 20;
constexpr std::uint64_t kCsvMost = 512ULL << 20;
constexpr std::size_t kListsMost = 1000;

class Loader {
 public:
  Loader(const std::string& path, const LoadOptions& options) : options_(options), zones_(options.zones) {
    out_.settings.file = absolute_path(path, current_directory(), home_directory());
  }

  Loaded load() {
    if (const auto text = open(out_.settings.file, {0, 0, 0}, kTomlMost)) {
      main_ = parse(*text, 0);
      read_main();
      if (options_.lists) read_lists();
      finish();
      // Of a file that cannot be read nothing is missing: what is in it is not known.
      if (options_.files && is_parsed_) check_files(main_, reading_of(0, {}), warnings_);
      if (options_.files) check_feeds_together(main_, settings().feeds, warnings_);
    }
    out_.problems = errors_.take(settings().files);
    out_.warnings = warnings_.take(settings().files);
    return std::move(out_);
  }

 private:
  Settings& settings() { return out_.settings; }

  Reading reading_of(std::size_t file, std::string section) {
    const std::string directory = std::filesystem::path(settings().files[file]).parent_path();
    return {errors_, directory, home_directory(), std::move(section), {}, {}, &zones_};
  }

  /// The file's text; it is on the list of files from then on. `asked_at` is where somebody asked for it.
  std::optional<std::string> open(const std::string& path, const Place& asked_at, std::uint64_t most,
                                  std::string_view asked_by = "watch_lists") {
    const bool is_main = settings().files.empty();
    if (is_main) settings().files.push_back(path);
    auto text = read_text(path, most);
    if (!text) {
      std::string what = text.error().text;
      if (is_main) what += "; nothing was loaded; \"brimwatch init\" writes a first configuration";
      else what = std::string(asked_by) + ": " + in_quotes(path) + ": " + what + "; nothing was loaded";
      errors_.add(asked_at, what);
      return std::nullopt;
    }
    if (!is_main) settings().files.push_back(path);
    if (!is_utf16(*text)) return std::move(*text);
    const auto file = static_cast<std::uint16_t>(settings().files.size() - 1);
    errors_.add({file, 1, 1}, "found UTF-16 text, expected UTF-8: save the file as UTF-8; nothing was loaded");
    return std::nullopt;
  }

  Value parse(const std::string& text, std::uint16_t file) {
    Document document = parse_document(text, file);
    if (document.error) errors_.add(document.error->place, document.error->text + "; nothing was loaded");
    if (document.error && file == 0) is_parsed_ = false;
    return std::move(document.root);
  }

  /// Reads the section when it is there. One table only.
  template <typename T>
  void read_section(std::string_view name, std::span<const Key<T>> keys, T& into, Seen* seen = nullptr) {
    const Entry* entry = main_.find(name);
    if (entry == nullptr) return;
    Reading reading = reading_of(0, "[" + std::string(name) + "]");
    if (entry->value.kind == Value::Kind::table) read_table(into, entry->value, keys, reading, seen);
    else reading.refuse(entry->value.place, describe(entry->value), "one table");
  }

  void read_main() {
    read_top();
    read_section("session", session_keys(), settings().session);
    read_rules();
    Seen market;
    read_section("market", market_keys(), settings().market, &market);
    if (market.has("trend") && market.has("index")) {
      warnings_.add(*market.find("index"), "[market]: index: not used, because trend is set");
    }
    read_section("history", history_keys(), settings().history);
    read_section("record", record_keys(), settings().record);
    read_section("keep", keep_keys(), settings().keep);
    read_page();
    read_life();
    read_shared();
    read_section("prepare", prepare_keys(), settings().prepare);
    read_section("log", log_keys(), settings());
    read_many("feed", kFeedsMost, [this](const Value& table, Reading& reading) { add_feed(table, reading); });
    read_many("channel", kChannelsMost, [this](const Value& table, Reading& reading) { add_channel(table, reading); });
    read_section("evening", evening_keys(), settings().evening);
    if (!options_.rules.empty()) lay_over(options_.rules);
    defaults_ = {settings().rules, settings().session.calendar, default_tape(), options_.watches_most};
    if (const Entry* watch = main_.find("watch")) {
      Reading reading = reading_of(0, "watch");
      add_watches(watch->value, defaults_, reading, settings().watches);
    }
  }

  void read_page() {
    Seen seen;
    read_section("page", page_keys(), settings().page, &seen);
    Reading reading = reading_of(0, "[page]");
    check_page(settings().page, seen, reading);
  }

  void read_life() {
    Seen seen;
    read_section("life", life_keys(), settings().life, &seen);
    Reading reading = reading_of(0, "[life]");
    check_heartbeat(settings().life, seen, reading);
  }

  void read_shared() {
    const Entry* entry = main_.find("shared");
    if (entry == nullptr) return;
    Seen seen;
    read_section("shared", shared_keys(), settings().shared, &seen);
    Reading reading = reading_of(0, "[shared]");
    if (!check_shared(settings().shared, seen, entry->place, reading)) return;
    if (const std::string doubt = doubt_about_majority(settings().shared); !doubt.empty())
      warnings_.add(seen.at("etcd", entry->place), "[shared]: " + doubt);
    if (const std::string doubt = doubt_about_direct(settings().shared); !doubt.empty())
      warnings_.add(entry->place, "[shared]: " + doubt);
  }

  void read_rules() {
    const Entry* entry = main_.find("rules");
    Seen seen;
    read_section("rules", rules_keys(), settings().rules, &seen);
    if (entry == nullptr) return;
    Reading reading = reading_of(0, "[rules]");
    check_rules(settings().rules, seen, entry->place, reading);
  }

  /// Another set of rules for the same watches: what it names wins over the main file, and a watch's own words over both.
  void lay_over(const std::string& given) {
    const std::string path = absolute_path(given, current_directory(), home_directory());
    const auto text = open(path, {0, 0, 0}, kTomlMost, "--rules");
    if (!text) return;
    const auto file = static_cast<std::uint16_t>(settings().files.size() - 1);
    const Value root = parse(*text, file);
    for (const Entry& entry : root.entries) {
      Reading reading = reading_of(file, "[" + entry.key + "]");
      const bool table = entry.value.kind == Value::Kind::table;
      if (entry.key != "rules" && entry.key != "market") {
        reading.section = {};
        refuse_unknown(entry, {{"rules", {}, {}}, {"market", {}, {}}}, reading);
      } else if (!table) {
        reading.refuse(entry.value.place, describe(entry.value), "one table");
      } else if (entry.key == "market") {
        read_table(settings().market, entry.value, market_keys(), reading);
      } else {
        Seen seen;
        read_table(settings().rules, entry.value, rules_keys(), reading, &seen);
        check_rules(settings().rules, seen, entry.place, reading);
      }
    }
  }

  /// The top level: keys of its own, and the names of the sections.
  void read_top() {
    Reading reading = reading_of(0, {});
    TopLevel top;
    std::vector<KeyInfo> known = infos(top_level_keys());
    for (const SectionInfo& section : all_sections()) {
      if (!section.name.empty()) known.push_back({section.name, {}, {}});
    }
    for (const Entry& entry : main_.entries) {
      reading.key = entry.key;
      if (const auto* key = find_key(top_level_keys(), entry.key)) {
        key->set(top, entry.value, key->shape, reading);
        if (key->name == "watch_lists") note_places(entry.value);
        continue;
      }
      const bool section =
          std::any_of(known.begin(), known.end(), [&](const KeyInfo& key) { return key.name == entry.key; });
      if (!section) refuse_unknown(entry, known, reading);
    }
    settings().journal = top.journal;
    patterns_ = std::move(top.watch_lists);
  }

  /// Where each watch list is named; of one text, or of a list.
  void note_places(const Value& value) {
    lists_at_ = value.place;
    pattern_at_.clear();
    for (const Value& item : value.items) pattern_at_.push_back(item.place);
  }

  template <typename Add>
  void read_many(std::string_view name, std::int64_t most, Add add) {
    const Entry* entry = main_.find(name);
    if (entry == nullptr) return;
    Reading reading = reading_of(0, std::string(name));
    const Value& value = entry->value;
    if (value.kind == Value::Kind::table) return add(value, reading);
    const bool list = value.kind == Value::Kind::list;
    if (!list || value.items.size() > static_cast<std::size_t>(most)) {
      reading.refuse(value.place, list ? std::to_string(value.items.size()) + " of them" : describe(value),
                     list ? "at most " + std::to_string(most) : "a table, or a list of tables");
      return;
    }
    for (const Value& item : value.items) add(item, reading);
  }

  static void name_after(const Value& table, Reading& reading) {
    const Entry* name = table.find("name");
    const Entry* kind = table.find("kind");
    const Entry* known = name != nullptr ? name : kind;
    reading.name = known != nullptr && known->value.kind == Value::Kind::text ? known->value.text : std::string();
    reading.key = {};
  }

  /// One of several feeds or channels, each of which has a name of its own; none: it is wrong, and that is told.
  template <typename Named>
  static std::optional<Named> read_named(const Value& table, std::span<const Key<Named>> keys,
                                         bool (*check)(Named&, const Seen&, const Place&, Reading&),
                                         const std::vector<Named>& others, Reading& reading) {
    name_after(table, reading);
    if (table.kind != Value::Kind::table) {
      reading.refuse(table.place, describe(table), "a table");
      return std::nullopt;
    }
    Seen seen;
    Named one;
    bool good = read_table(one, table, keys, reading, &seen);
    good = check(one, seen, table.place, reading) && good;
    for (const Named& other : others) good = check_name(other.name, one.name, seen, table, reading) && good;
    return good ? std::optional(std::move(one)) : std::nullopt;
  }

  void add_feed(const Value& table, Reading& reading) {
    auto feed = read_named(table, feed_keys(), check_feed, settings().feeds, reading);
    if (!feed) return;
    const bool good = !feed->enabled || ask_maker(options_.makers.refuse_feed, *feed, table, reading);
    if (feed->enabled) doubt(options_.makers.doubt_feed, *feed, table);
    if (good) settings().feeds.push_back(std::move(*feed));
  }

  void add_channel(const Value& table, Reading& reading) {
    auto channel = read_named(table, channel_keys(), check_channel, settings().channels, reading);
    if (!channel) return;
    if (channel->enabled && !ask_maker(options_.makers.refuse_channel, *channel, table, reading)) return;
    settings().channels.push_back(std::move(*channel));
  }

  template <typename Ask, typename Section>
  static bool ask_maker(const Ask& ask, const Section& section, const Value& table, Reading& reading) {
    bool good = true;
    reading.key = {};
    if (!ask) return good;
    for (const std::string& what : ask(section)) good = reading.tell(place_of_key(table, what), what);
    return good;
  }

  void doubt(const Makers::Feed& ask, const FeedSettings& feed, const Value& table) {
    if (!ask) return;
    for (const std::string& what : ask(feed))
      warnings_.add(place_of_key(table, what), "feed " + in_quotes(feed.name) + ": " + what);
  }

  static bool check_name(const std::string& other, const std::string& name, const Seen& seen, const Value& table,
                         Reading& reading) {
    if (other != name || name.empty()) return true;
    reading.key = "name";
    return reading.refuse(seen.at("name", table.place), in_quotes(name) + " a second time", "a name of its own for each");
  }

  [[nodiscard]] Tape default_tape() {
    const auto& feeds = settings().feeds;
    return !feeds.empty() && feeds.front().conditions == "utdf" ? Tape::utdf : Tape::cts;
  }

  void read_lists() {
    std::set<std::string> read;
    for (std::size_t i = 0; i < patterns_.size() && is_room_left(); ++i) {
      if (patterns_.size() == pattern_at_.size()) lists_at_ = pattern_at_[i];
      for (const std::string& path : lists_of(patterns_[i])) {
        if (!is_room_left()) break;
        if (!read.insert(path).second) {
          warnings_.add(lists_at_, "watch_lists: " + in_quotes(path) + " is named twice; it was read once");
        } else if (read.size() <= kListsMost) {
          read_list(path);
          ++lists_read_;
        }
      }
    }
    if (read.size() > kListsMost) {
      errors_.add(lists_at_, "watch_lists: found " + std::to_string(read.size()) + " lists, expected at most " +
                                 std::to_string(kListsMost) + "; nothing was loaded");
    }
  }

  /// Else it has been told.
  [[nodiscard]] bool is_room_left() const { return out_.settings.watches.size() < defaults_.most || errors_.empty(); }

  std::vector<std::string> lists_of(const std::string& pattern) {
    ListFiles found = list_files(pattern, settings().file, home_directory());
    if (!found.missed.empty()) warnings_.add(lists_at_, "watch_lists: " + found.missed);
    return std::move(found.paths);
  }

  void read_list(const std::string& path) {
    const std::string kind = std::filesystem::path(path).extension();
    if (kind != ".toml" && kind != ".csv") {
      errors_.add(lists_at_, "watch_lists: found " + in_quotes(path) +
                                 ", expected a name that ends in .toml or .csv; nothing was loaded");
      return;
    }
    const auto text = open(path, lists_at_, kind == ".csv" ? kCsvMost : kTomlMost);
    if (!text) return;
    const auto file = static_cast<std::uint16_t>(settings().files.size() - 1);
    Reading reading = reading_of(file, "watch");
    const std::size_t before = settings().watches.size();
    if (kind == ".csv") add_csv_list(*text, file, defaults_, reading, settings().watches);
    else read_toml_list(parse(*text, file), reading);
    if (settings().watches.size() == before && errors_.empty()) warnings_.add({file, 0, 0}, "the list has no watches");
  }

  void read_toml_list(const Value& root, Reading& reading) {
    WatchDefaults defaults = defaults_;
    const std::vector<KeyInfo> known{{"rules", {}, {}}, {"watch", {}, {}}};
    for (const Entry& entry : root.entries) {
      if (entry.key == "rules") {
        reading.section = "[rules]";
        Seen seen;
        if (entry.value.kind != Value::Kind::table) reading.refuse(entry.value.place, describe(entry.value), "one table");
        else read_table(defaults.rules, entry.value, rules_keys(), reading, &seen);
        check_rules(defaults.rules, seen, entry.place, reading);
      } else if (entry.key != "watch") {
        reading.section = {};
        refuse_unknown(entry, known, reading);
      }
      reading.key = {};
    }
    if (const Entry* watch = root.find("watch")) add_watches(watch->value, defaults, reading, settings().watches);
  }

  void finish() {
    auto& watches = settings().watches;
    if (watches.size() > options_.watches_most) {
      errors_.add({0, 0, 0}, "found " + std::to_string(watches.size()) + " watches, expected at most " +
                                 std::to_string(options_.watches_most) + "; nothing was loaded");
    }
    check_among(watches, settings().files, errors_, warnings_);
    check_together({main_, settings(), options_.calendars, zones_}, reading_of(0, {}), warnings_);
    check_writers(settings(), errors_, warnings_);
    warn_of_gaps();
  }

  void warn_of_gaps() {
    if (!errors_.empty()) return;
    if (settings().watches.empty() && options_.lists && !patterns_.empty() && lists_read_ == 0)
      errors_.add(lists_at_, "watch_lists: found no list, expected one at least; nothing was loaded");
    else if (settings().watches.empty() && options_.lists)
      warnings_.add({0, 0, 0}, "there are no watches: add [[watch]] or watch_lists");
    if (settings().channels.empty())
      warnings_.add({0, 0, 0}, "there are no channels: notices are only kept in the journal");
  }

  LoadOptions options_;
  ZoneNames zones_;
  Loaded out_;
  Problems errors_, warnings_;
  Value main_;
  bool is_parsed_ = true;  ///< the main file
  std::vector<std::string> patterns_;
  Place lists_at_;  ///< of the list that is being read
  int lists_read_ = 0;
  std::vector<Place> pattern_at_;
  WatchDefaults defaults_;
};

}  // namespace

Loaded load_settings(const std::string& path, const LoadOptions& options) {
  Loaded loaded = Loader(path, options).load();
  loaded.settings.history.learned = learned_file(loaded.settings.history.learned);
  const std::string& journal = options.journal.empty() ? loaded.settings.journal : options.journal;
  loaded.settings.history.heard = journal.empty() ? places().heard() : heard_beside(journal);
  return loaded;
}

}  // namespace brimwatch
