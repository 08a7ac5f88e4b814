#include <array>

#include "config/checks/checks.h"

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, 2> kSocket{"wss", "ws"};

/// A program that writes JSON for us may as well use the tape's own column names.
void use_tape_names(FieldMap& fields) {
  fields.symbol = "/symbol";
  fields.price = "/price";
  fields.size = "/size";
  fields.time = "/time";
  fields.conditions = "/conditions";
  fields.exchange = "/exchange";
  fields.id = "/id";
  fields.kind = "/kind";
  fields.day_volume = "/day_volume";
  fields.bid = "/bid";
  fields.ask = "/ask";
  fields.bid_size = "/bid_size";
  fields.ask_size = "/ask_size";
  fields.status = "/status";
}

bool check_web(const FeedSettings& feed, const Seen& seen, const Place& table, Reading& reading) {
  const bool socket = feed.kind == "stream";
  bool good =
      check_needed("url", socket ? "an address such as \"wss://host/path\"" : "an address such as \"https://host/path\"",
                   seen, table, reading);
  if (!feed.url.empty()) {
    reading.key = "url";
    const AddressRules rules{socket ? std::span<const std::string_view>(kSocket) : kWebSchemes, socket ? "ws" : "http",
                             feed.insecure_loopback};
    good = check_address(feed.url, rules, seen.at("url", table), reading) && good;
  }
  good = check_needed("fields", "a table of JSON Pointers such as { symbol = \"/s\", price = \"/p\" }", seen, table,
                      reading) &&
         good;
  if (seen.has("fields") && feed.fields.symbol.empty()) {
    reading.key = "fields";
    good = reading.tell(seen.at("fields", table), "found no symbol, expected a JSON Pointer such as symbol = \"/s\"");
  }
  return good;
}

}  // namespace

bool check_feed(FeedSettings& feed, const Seen& seen, const Place& table, Reading& reading) {
  bool good = check_needed("kind", "\"tape\", \"pipe\", \"stream\", \"poll\" or \"events\"", seen, table, reading);
  if (!good) return false;
  good = check_only_for(infos(feed_keys()), feed.kind, seen, reading);
  if (feed.kind == "tape") return good;  // `replay` names its tapes itself; `run` asks for `file`
  if (feed.kind == "pipe") {
    if (seen.has("fields")) return good;
    use_tape_names(feed.fields);
    if (!seen.has("conditions")) feed.conditions = "cts";  // the tape's names, and the tape's codes
    return good;
  }
  return check_web(feed, seen, table, reading) && good;
}

/// A second one that gives all the time, not only when the first is blind.
void check_feeds_together(const Value& main, const std::vector<FeedSettings>& feeds, Problems& warnings) {
  const FeedSettings* first = nullptr;
  for (std::size_t i = 0; i < feeds.size(); ++i) {
    const FeedSettings& feed = feeds[i];
    if (!feed.enabled || !feed.standby_for.empty()) continue;
    if (first == nullptr) {
      first = &feed;
      continue;
    }
    const Entry* const list = main.find("feed");
    const bool many = list != nullptr && list->value.kind == Value::Kind::list && i < list->value.items.size();
    const Place place = many ? list->value.items[i].place : list != nullptr ? list->value.place : Place{};
    warnings.add(place,
                 "feed " + in_quotes(feed.name) + ": found in use beside " + in_quotes(first->name) +
                     "; where both carry one tape, a trade counts once only if both give it the same id and exchange, "
                     "and else twice, as does the day's volume; expected standby_for = " +
                     in_quotes(first->name) + ", unless they carry different markets");
  }
}

}  // namespace brimwatch
