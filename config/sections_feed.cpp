// The keys of a feed.
#include <array>

#include "config/sections.h"
#include "config/shapes.h"

namespace brimwatch {
namespace {

using namespace shapes;

constexpr std::int64_t kUnit = kMillion;
constexpr std::array<std::string_view, 4> kKinds{"tape", "pipe", "stream", "poll"};
constexpr std::array<std::string_view, 3> kConditions{"cts", "utdf", "none"};
constexpr std::array<std::string_view, 5> kTimes{"rfc3339", "s", "ms", "us", "ns"};
constexpr std::array<std::string_view, 10> kMessages{"trade", "quote", "cancel",   "correct", "status",
                                                     "bar",   "day",   "accepted", "refused", "ignore"};
constexpr std::array<std::string_view, 11> kDefaults{"trade", "quote",    "cancel",  "correct", "status", "bar",
                                                     "day",   "accepted", "refused", "ignore",  ""};

constexpr Key<FieldMap> kFields[] = {
    {{"symbol", pointer(), "Symbol"}, set<FieldMap, &FieldMap::symbol>},
    {{"price", pointer(), "Price of a trade, close of a bar"}, set<FieldMap, &FieldMap::price>},
    {{"size", pointer(), "Shares of a trade, volume of a bar"}, set<FieldMap, &FieldMap::size>},
    {{"time", pointer(), "The exchange's time"}, set<FieldMap, &FieldMap::time>},
    {{"conditions", pointer(), "Sale conditions"}, set<FieldMap, &FieldMap::conditions>},
    {{"exchange", pointer(), "Participant code of the exchange"}, set<FieldMap, &FieldMap::exchange>},
    {{"id", pointer(), "Identity of the trade"}, set<FieldMap, &FieldMap::id>},
    {{"kind", pointer(), "Kind of the message"}, set<FieldMap, &FieldMap::kind>},
    {{"day_volume", pointer(), "Volume of the day so far"}, set<FieldMap, &FieldMap::day_volume>},
    {{"bid", pointer(), "Bid price"}, set<FieldMap, &FieldMap::bid>},
    {{"ask", pointer(), "Ask price"}, set<FieldMap, &FieldMap::ask>},
    {{"bid_size", pointer(), "Shares bid"}, set<FieldMap, &FieldMap::bid_size>},
    {{"ask_size", pointer(), "Shares asked"}, set<FieldMap, &FieldMap::ask_size>},
    {{"status", pointer(), "Trading status"}, set<FieldMap, &FieldMap::status>},
    {{"sequence", pointer(), "Number that counts the messages up, to see what is missing"},
     set<FieldMap, &FieldMap::sequence>},
    {{"low", pointer(), "Low of a bar"}, set<FieldMap, &FieldMap::low>},
    {{"high", pointer(), "High of a bar"}, set<FieldMap, &FieldMap::high>},
    {{"old_price", pointer(), "Price that a correction replaces"}, set<FieldMap, &FieldMap::old_price>},
    {{"old_size", pointer(), "Size that a correction replaces"}, set<FieldMap, &FieldMap::old_size>},
    {{"time_format", word(kTimes), "How times are written"}, set<FieldMap, &FieldMap::time_format>},
    {{"messages", pointer(), "Where the messages stand inside a frame that holds several"},
     set<FieldMap, &FieldMap::messages>},
};

constexpr Key<MessageRule> kRuleOfMessage[] = {
    {{"at", pointer(), "Where to look in a message"}, set<MessageRule, &MessageRule::at>},
    {{"equals", text(), "What stands there; \"*\": anything"}, set<MessageRule, &MessageRule::equals>},
    {{"kind", word(kMessages), "What the message then is"}, set<MessageRule, &MessageRule::kind>},
};

std::vector<KeyInfo> field_infos() { return infos(std::span<const Key<FieldMap>>(kFields)); }
std::vector<KeyInfo> rule_infos() { return infos(std::span<const Key<MessageRule>>(kRuleOfMessage)); }

bool set_fields(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::table) return reading.refuse(value.place, value, shape);
  return read_table(into.fields, value, std::span<const Key<FieldMap>>(kFields), reading);
}

bool set_fields_of(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::table) return reading.refuse(value.place, value, shape);
  bool good = true;
  for (const Entry& entry : value.entries) {
    reading.key = "fields_of";
    Value word;
    word.text = entry.key;
    word.place = entry.place;
    std::string kind;
    if (!read(kind, word, shapes::word(kMessages), reading)) {
      good = false;
    } else if (entry.value.kind != Value::Kind::table) {
      good = reading.refuse(entry.value.place, entry.value, shape);
    } else {
      good = read_table(into.fields_of[kind], entry.value, std::span<const Key<FieldMap>>(kFields), reading) && good;
    }
  }
  return good;
}

bool set_rule(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::table) return reading.refuse(value.place, value, shape);
  Seen seen;
  MessageRule& rule = into.rules.emplace_back();
  if (!read_table(rule, value, std::span<const Key<MessageRule>>(kRuleOfMessage), reading, &seen)) return false;
  reading.key = "rules";
  for (const Key<MessageRule>& key : kRuleOfMessage) {
    if (!seen.has(key.name))
      return reading.tell(value.place, "found no \"" + std::string(key.name) + "\", expected at, equals and kind");
  }
  return true;
}

bool set_rules(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::list) return set_rule(into, value, shape, reading);
  if (value.items.size() > static_cast<std::size_t>(shape.most)) {
    return reading.refuse(value.place, std::to_string(value.items.size()) + " rules",
                          "at most " + std::to_string(shape.most));
  }
  bool good = true;
  for (const Value& item : value.items) good = set_rule(into, item, shape, reading) && good;
  return good;
}

bool set_frame_size(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  std::uint64_t kibibytes = 0;
  if (!read(kibibytes, value, shape, reading)) return false;
  into.frame_bytes_most = kibibytes << 10;
  return true;
}

constexpr Key<FeedSettings> kFeed[] = {
    {{"name", text(64), "Its name in notices and on the status page"}, set<FeedSettings, &FeedSettings::name>},
    {{"kind", word(kKinds), "A recorded tape, a program's output, a WebSocket, or an HTTP address asked again and again"},
     set<FeedSettings, &FeedSettings::kind>},
    {{"enabled", boolean(), "false: as if it were not there"}, set<FeedSettings, &FeedSettings::enabled>},
    {{"file", path(), "The tape (CSV, plain, gzip or zstd)", "tape"}, set<FeedSettings, &FeedSettings::file>},
    {{"speed", fraction_up_to(100'000), "1: as it was; 10: ten times as fast; 0: as fast as it goes", "tape"},
     set<FeedSettings, &FeedSettings::speed>},
    {{"command", texts(), "Program and arguments; without it, standard input", "pipe"},
     set<FeedSettings, &FeedSettings::command>},
    {{"environment", texts(), "Names of variables that its program gets too, beside PATH, HOME and the like", "pipe"},
     set<FeedSettings, &FeedSettings::environment>},
    {{"url", url(), "Its address", "stream poll"}, set<FeedSettings, &FeedSettings::url>},
    {{"headers", headers(), "HTTP headers; {secret} stands for the secret", "stream poll"},
     set<FeedSettings, &FeedSettings::headers>},
    {{"secret", secret(), "Where the key for {secret} comes from", "stream poll"},
     set<FeedSettings, &FeedSettings::secret>},
    {{"hello", messages(), "Messages sent after connecting; {secret}, {symbols}, {symbols_json}", "stream"},
     set<FeedSettings, &FeedSettings::hello>},
    {{"subscribe", lines(), "Message that asks for a batch of symbols: {symbols}, {symbols_json}", "stream"},
     set<FeedSettings, &FeedSettings::subscribe>},
    {{"unsubscribe", lines(), "Message that gives them up", "stream"}, set<FeedSettings, &FeedSettings::unsubscribe>},
    {{"batch", count(1, 10'000), "Symbols in one message or request", "stream poll"},
     set<FeedSettings, &FeedSettings::batch>},
    {{"interval", seconds(kUnit / 10, 86'400 * kUnit), "Seconds between requests", "poll"},
     set<FeedSettings, &FeedSettings::interval>},
    {{"keep_alive", seconds(kUnit / 10, 3'600 * kUnit), "Seconds between pings; three without answer end the connection",
      "stream"},
     set<FeedSettings, &FeedSettings::keep_alive>},
    {{"ping", lines(), "A message sent as often as a ping, where the source wants one", "stream"},
     set<FeedSettings, &FeedSettings::ping>},
    {{"connect_timeout", seconds(kUnit / 10, 600 * kUnit), "Seconds for each step of connecting, or for a request",
      "stream poll"},
     set<FeedSettings, &FeedSettings::connect_timeout>},
    {{"silent_after", seconds(kUnit, 86'400 * kUnit), "Seconds without a message, in session, before it is told"},
     set<FeedSettings, &FeedSettings::silent_after>},
    {{"late_after", seconds(kUnit, 86'400 * kUnit), "Age of the data in seconds before it is told"},
     set<FeedSettings, &FeedSettings::late_after>},
    {{"proxy", url(), "HTTP proxy; that of the environment is not used", "stream poll"},
     set<FeedSettings, &FeedSettings::proxy>},
    {{"ca_file", path(), "Certificates to trust, in place of the system's", "stream poll"},
     set<FeedSettings, &FeedSettings::ca_file>},
    {{"insecure_loopback", boolean(), "Allow ws:// and http:// to this machine itself", "stream poll"},
     set<FeedSettings, &FeedSettings::insecure_loopback>},
    {{"conditions", word(kConditions), "Whose sale condition codes the source uses, where a watch does not say"},
     set<FeedSettings, &FeedSettings::conditions>},
    {{"standby_for", text(64), "Name of the feed that this one stands by for"},
     set<FeedSettings, &FeedSettings::standby_for>},
    {{"fields", table(field_infos), "Where in a message the values stand (JSON Pointers, RFC 6901)", "pipe stream poll"},
     set_fields},
    {{"fields_of", table_of(field_infos), "The same for one kind of message, where it differs", "pipe stream poll"},
     set_fields_of},
    {{"rules", tables(100, rule_infos), "How kinds of messages are told apart", "pipe stream poll"}, set_rules},
    {{"default_kind", word(kDefaults), "What a message is that no rule tells; \"\": unknown", "pipe stream poll"},
     set<FeedSettings, &FeedSettings::default_kind>},
    {{"kind_words", headers(), "The source's words for kinds = ours", "pipe stream poll"},
     set<FeedSettings, &FeedSettings::kind_words>},
    {{"status_words", headers(), "The source's words for trading status = ours", "pipe stream poll"},
     set<FeedSettings, &FeedSettings::status_words>},
    {{"condition_words", headers(), "The source's sale conditions = the tape's codes", "pipe stream poll"},
     set<FeedSettings, &FeedSettings::condition_words>},
    {{"exchange_words", headers(), "The source's exchanges = the tape's participant codes", "pipe stream poll"},
     set<FeedSettings, &FeedSettings::exchange_words>},
    {{"symbol_form", text(64), "How the source writes a symbol, e.g. \"{symbol}.US\"", "pipe stream poll"},
     set<FeedSettings, &FeedSettings::symbol_form>},
    {{"sequence_by_symbol", boolean(), "The sequence counts up for each symbol by itself", "pipe stream poll"},
     set<FeedSettings, &FeedSettings::sequence_by_symbol>},
    {{"rehearsal", fraction_up_to(100'000),
      "The source plays a past day so many times as fast (brimwatch serve); 0: it is a live one", "pipe stream poll"},
     set<FeedSettings, &FeedSettings::rehearsal>},
    {{"frame_kib", count(1, 65'536), "Longest message, line or answer taken, in KiB", "pipe stream poll"},
     set_frame_size},
};

}  // namespace

std::span<const Key<FeedSettings>> feed_keys() { return kFeed; }

}  // namespace brimwatch
