// The keys of a feed.
#include <array>

#include "config/reading/text.h"
#include "config/sections/sections.h"
#include "config/sections/shapes.h"

namespace brimwatch {
namespace sections {
namespace {

constexpr std::array<std::string_view, 5> kFeedKinds{"tape", "pipe", "stream", "poll", "events"};
constexpr std::array<std::string_view, 3> kConditions{"cts", "utdf", "none"};
constexpr std::array<std::string_view, 5> kTimes{"rfc3339", "s", "ms", "us", "ns"};
constexpr std::array<std::string_view, 4> kPackings{"none", "gzip", "deflate", "zstd"};
constexpr std::array<std::string_view, 4> kEncodings{"json", "msgpack", "csv", "tags"};
constexpr std::array<std::string_view, 4> kStatuses{"trading", "halted", "paused", "quotation"};
constexpr std::array<std::string_view, 11> kMessages{"trade", "quote",  "cancel",   "correct", "status", "bar",
                                                     "day",   "naming", "accepted", "refused", "ignore"};
constexpr std::array<std::string_view, 8> kWithFields{"trade",  "quote", "cancel", "correct",
                                                      "status", "bar",   "day",    "naming"};
constexpr std::array<std::string_view, 12> kDefaults{"trade", "quote",  "cancel",   "correct", "status", "bar",
                                                     "day",   "naming", "accepted", "refused", "ignore", ""};
constexpr std::array<std::string_view, 2> kPastDays{"leave-out", "tell"};
constexpr std::string_view kOnTheWire = "pipe stream poll events";  // kinds that read messages
constexpr std::string_view kOverHttp = "stream poll events";

constexpr Key<FieldMap> kFields[] = {
    {{"symbol", pointer(), "Symbol"}, set<FieldMap, &FieldMap::symbol>},
    {{"price", pointer(), "Price of a trade, close of a bar"}, set<FieldMap, &FieldMap::price>},
    {{"size", pointer(), "Shares of a trade, volume of a bar"}, set<FieldMap, &FieldMap::size>},
    {{"time", pointer(), "The exchange's time"}, set<FieldMap, &FieldMap::time>},
    {{"conditions", pointer(), "Sale conditions"}, set<FieldMap, &FieldMap::conditions>},
    {{"odd_lot", pointer(), "A flag for an odd lot: true, a number that is not 0, \"Y\""},
     set<FieldMap, &FieldMap::odd_lot>},
    {{"exchange", pointer(), "Participant code of the exchange"}, set<FieldMap, &FieldMap::exchange>},
    {{"id", pointer(), "Trade id"}, set<FieldMap, &FieldMap::id>},
    {{"kind", pointer(), "Kind of the message"}, set<FieldMap, &FieldMap::kind>},
    {{"day_volume", pointer(), "Volume of the day so far"}, set<FieldMap, &FieldMap::day_volume>},
    {{"bid", pointer(), "Bid price"}, set<FieldMap, &FieldMap::bid>},
    {{"ask", pointer(), "Ask price"}, set<FieldMap, &FieldMap::ask>},
    {{"bid_size", pointer(), "Shares bid"}, set<FieldMap, &FieldMap::bid_size>},
    {{"ask_size", pointer(), "Shares asked"}, set<FieldMap, &FieldMap::ask_size>},
    {{"status", pointer(), "Trading status"}, set<FieldMap, &FieldMap::status>},
    {{"sequence", pointer(), "Sequence number of the messages, to see gaps"}, set<FieldMap, &FieldMap::sequence>},
    {{"low", pointer(), "Low of a bar"}, set<FieldMap, &FieldMap::low>},
    {{"high", pointer(), "High of a bar"}, set<FieldMap, &FieldMap::high>},
    {{"old_price", pointer(), "Price that a correction replaces"}, set<FieldMap, &FieldMap::old_price>},
    {{"old_size", pointer(), "Size that a correction replaces"}, set<FieldMap, &FieldMap::old_size>},
    {{"number", pointer(), "Of a naming: the number that stands for the symbol from then on"},
     set<FieldMap, &FieldMap::number>},
    {{"time_format", word(kTimes), "How times are written; without it, rfc3339; in fields_of, as in fields"},
     set<FieldMap, &FieldMap::time_format>},
    {{"messages", pointer(), "Where the messages are in a frame that holds several"}, set<FieldMap, &FieldMap::messages>},
};

constexpr Key<MessageRule> kRuleOfMessage[] = {
    {{"at", pointer(), "Where to look in a message"}, set<MessageRule, &MessageRule::at>},
    {{"equals", text(), "The value there; \"*\": any; \"trade.*\", \"*@trade\": one that begins or ends so"},
     set<MessageRule, &MessageRule::equals>},
    {{"kind", word(kMessages), "What the message then is"}, set<MessageRule, &MessageRule::kind>},
};

constexpr Key<SourceReply> kReplyToSource[] = {
    {{"at", pointer(), "Where to look in a message"}, set<SourceReply, &SourceReply::at>},
    {{"equals", text(), "The value there; \"*\": any"}, set<SourceReply, &SourceReply::equals>},
    {{"send", lines(), "What is sent back; {value} stands for what was there"}, set<SourceReply, &SourceReply::send>},
};

std::vector<KeyInfo> field_infos() { return infos(std::span<const Key<FieldMap>>(kFields)); }
std::vector<KeyInfo> rule_infos() { return infos(std::span<const Key<MessageRule>>(kRuleOfMessage)); }
std::vector<KeyInfo> reply_infos() { return infos(std::span<const Key<SourceReply>>(kReplyToSource)); }

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
    if (!read(kind, word, sections::word(kWithFields), reading)) {
      good = false;
    } else if (entry.value.kind != Value::Kind::table) {
      good = reading.refuse(entry.value.place, entry.value, shape);
    } else {
      good = read_table(into.fields_of[kind], entry.value, std::span<const Key<FieldMap>>(kFields), reading) && good;
    }
  }
  return good;
}

/// One table of a list, every key of it needed.
template <typename T, std::size_t kCount>
bool read_whole(std::vector<T>& into, const Value& value, const Key<T> (&keys)[kCount], std::string_view name,
                const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::table) return reading.refuse(value.place, value, shape);
  Seen seen;
  if (!read_table(into.emplace_back(), value, std::span<const Key<T>>(keys), reading, &seen)) return false;
  std::string all;
  for (const Key<T>& key : keys)
    all.append(all.empty() ? "" : &key == &keys[kCount - 1] ? " and " : ", ").append(key.name);
  reading.key = name;
  for (const Key<T>& key : keys) {
    if (!seen.has(key.name))
      return reading.tell(value.place, "found no \"" + std::string(key.name) + "\", expected " + all);
  }
  return true;
}

template <typename T, std::size_t kCount>
bool read_tables(std::vector<T>& into, const Value& value, const Key<T> (&keys)[kCount], std::string_view name,
                 const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::list) return read_whole(into, value, keys, name, shape, reading);
  if (value.items.size() > static_cast<std::size_t>(shape.most)) {
    return reading.refuse(value.place, std::to_string(value.items.size()) + " " + std::string(name),
                          "at most " + std::to_string(shape.most));
  }
  bool good = true;
  for (const Value& item : value.items) good = read_whole(into, item, keys, name, shape, reading) && good;
  return good;
}

bool set_rules(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_tables(into.rules, value, kRuleOfMessage, "rules", shape, reading);
}

bool set_replies(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_tables(into.replies, value, kReplyToSource, "replies", shape, reading);
}

/// The source's words for ours: each of ours must be one of those, at its own place in the file.
bool read_words_for(std::map<std::string, std::string>& into, const Value& value, const Shape& shape, const Shape& ours,
                    Reading& reading) {
  if (!read(into, value, shape, reading)) return false;
  bool good = true;
  for (const Entry& entry : value.entries) {
    std::string word;
    good = read(word, entry.value, ours, reading) && good;
  }
  return good;
}

bool set_kind_words(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_words_for(into.kind_words, value, shape, word(kMessages), reading);
}

bool set_status_words(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_words_for(into.status_words, value, shape, word(kStatuses), reading);
}

/// Participant codes are one letter or digit; sale conditions none or a few.
template <auto Member, std::size_t kLeast, std::size_t kMost>
bool set_codes(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  if (!read(into.*Member, value, shape, reading)) return false;
  bool good = true;
  for (const Entry& entry : value.entries) {
    const std::size_t size = entry.value.text.size();
    if (size >= kLeast && size <= kMost) continue;
    const char* allowed = kMost == 1 ? "one character, a participant code of the tape" : "at most 8 codes of the tape";
    good = reading.refuse(entry.value.place, in_quotes(entry.value.text), allowed);
  }
  return good;
}

bool has_place_for_symbol(const Value& value, Reading& reading) {
  if (value.text.find("{symbol}") != std::string::npos) return true;
  return reading.refuse(value.place, in_quotes(value.text), "a text with {symbol} in it, such as \"{symbol}.US\"");
}

bool set_symbol_form(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  return read(into.symbol_form, value, shape, reading) && has_place_for_symbol(value, reading);
}

bool set_subscribe_form(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  if (!read(into.subscribe_form, value, shape, reading)) return false;
  if (value.kind != Value::Kind::list) return has_place_for_symbol(value, reading);
  bool good = true;
  for (const Value& item : value.items) good = has_place_for_symbol(item, reading) && good;
  return good;
}

bool set_frame_size(FeedSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  std::uint64_t kibibytes = 0;
  if (!read(kibibytes, value, shape, reading)) return false;
  into.frame_bytes_most = kibibytes << 10;
  return true;
}

std::string initial_frame_size(const KeyInfo& key) {
  return written(untouched<FeedSettings>().frame_bytes_most >> 10, key.shape);
}

constexpr Key<FeedSettings> kFeed[] = {
    {{"name", text(64), "Its name in notices and on the status page"}, set<FeedSettings, &FeedSettings::name>},
    {{"kind", word(kFeedKinds),
      "A recorded tape, a program's output, a WebSocket, an HTTP address asked again and again, or one that sends "
      "events"},
     set_needed<FeedSettings, &FeedSettings::kind>},
    {{"enabled", boolean(), "false: as if it were not there"}, set<FeedSettings, &FeedSettings::enabled>},
    {{"file", path(), "The tape (CSV, plain, gzip or zstd)", "tape"}, set<FeedSettings, &FeedSettings::file>},
    {{"speed", fraction_up_to(100'000), "Playback speed; 1: as recorded; 10: ten times that; 0: no waiting", "tape"},
     set<FeedSettings, &FeedSettings::speed>},
    {{"command", texts(), "Program and arguments; without it, standard input", "pipe"},
     set<FeedSettings, &FeedSettings::command>},
    {{"environment", texts(), "Variables that its program gets besides PATH, HOME and the like", "pipe"},
     set<FeedSettings, &FeedSettings::environment>},
    {{"url", url(), "Its address", kOverHttp}, set<FeedSettings, &FeedSettings::url>},
    {{"headers", headers(), "HTTP headers; {secret} stands for the secret", kOverHttp},
     set<FeedSettings, &FeedSettings::headers>},
    {{"secret", secret(), "Where the key for {secret} comes from", kOverHttp}, set<FeedSettings, &FeedSettings::secret>},
    {{"hello", messages(), "Messages sent after connecting; {secret}, {symbols}, {symbols_json}", "stream"},
     set<FeedSettings, &FeedSettings::hello>},
    {{"subscribe", lines(), "Message that asks for a batch of symbols: {symbols}, {symbols_json}", "stream"},
     set<FeedSettings, &FeedSettings::subscribe>},
    {{"unsubscribe", lines(), "Message that unsubscribes from them", "stream"},
     set<FeedSettings, &FeedSettings::unsubscribe>},
    {{"batch", count(1, 10'000), "Symbols in one message or request", kOverHttp},
     set<FeedSettings, &FeedSettings::batch>},
    {{"interval", seconds(kUnit / 10, 86'400 * kUnit), "Seconds between requests", "poll"},
     set<FeedSettings, &FeedSettings::interval>},
    {{"keep_alive", seconds(kUnit / 10, 3'600 * kUnit), "Seconds between pings; three without answer end the connection",
      "stream"},
     set<FeedSettings, &FeedSettings::keep_alive>},
    {{"ping", lines(), "A message sent as often as a ping, where the source wants one", "stream"},
     set<FeedSettings, &FeedSettings::ping>},
    {{"connect_timeout", seconds(kUnit / 10, 600 * kUnit), "Seconds for each step of connecting, or for a request",
      kOverHttp},
     set<FeedSettings, &FeedSettings::connect_timeout>},
    {{"silent_after", seconds(kUnit, 86'400 * kUnit), "Seconds without a message, in session, before a notice"},
     set<FeedSettings, &FeedSettings::silent_after>},
    {{"late_after", seconds(kUnit, 86'400 * kUnit), "Age of the data, in seconds, before a notice"},
     set<FeedSettings, &FeedSettings::late_after>},
    {{"proxy", url(), "HTTP proxy; the environment's is not used", kOverHttp}, set<FeedSettings, &FeedSettings::proxy>},
    {{"ca_file", path(), "Certificates to trust, in place of the system's", kOverHttp},
     set<FeedSettings, &FeedSettings::ca_file>},
    {{"insecure_loopback", boolean(), "Allow ws:// and http:// to this machine itself", kOverHttp},
     set<FeedSettings, &FeedSettings::insecure_loopback>},
    {{"conditions", word(kConditions),
      "The tape whose sale condition codes the source uses; \"none\": it has its own, see condition_words; a pipe "
      "without fields: cts"},
     set<FeedSettings, &FeedSettings::conditions>},
    {{"standby_for", text(64), "Name of the feed that this one stands by for"},
     set<FeedSettings, &FeedSettings::standby_for>},
    {{"fields", table(field_infos), "Where the values are in a message (JSON Pointers, RFC 6901)", kOnTheWire},
     set_fields},
    {{"fields_of", table_of(field_infos), "The same for one kind of message, where it differs", kOnTheWire},
     set_fields_of},
    {{"columns", boolean(), "Each field is a list: the first of each make the first message, and so on", kOnTheWire},
     set<FeedSettings, &FeedSettings::columns>},
    {{"packing", word(kPackings), "What each message is packed with", kOverHttp},
     set<FeedSettings, &FeedSettings::packing>},
    {{"encoding", word(kEncodings), "JSON; MessagePack; lines of values with commas, fields by place; lines of tag=value",
      kOnTheWire},
     set<FeedSettings, &FeedSettings::encoding>},
    {{"permessage_deflate", boolean(), "Let the source compress what it sends (RFC 7692)", "stream"},
     set<FeedSettings, &FeedSettings::permessage_deflate>},
    {{"rules", tables(100, rule_infos), "How kinds of messages are told apart", kOnTheWire}, set_rules},
    {{"default_kind", word(kDefaults), "Kind of a message that no rule decides; \"\": unknown", kOnTheWire},
     set<FeedSettings, &FeedSettings::default_kind>},
    {{"kind_words", headers(), "The source's words for kinds = ours", kOnTheWire}, set_kind_words},
    {{"status_words", headers(), "The source's words for trading status = ours", kOnTheWire}, set_status_words},
    {{"condition_words", headers(), "The source's sale conditions = the tape's codes", kOnTheWire},
     set_codes<&FeedSettings::condition_words, 0, 8>},
    {{"exchange_words", headers(), "The source's exchanges = the tape's participant codes", kOnTheWire},
     set_codes<&FeedSettings::exchange_words, 1, 1>},
    {{"replies", tables(20, reply_infos), "Messages that the source wants answered, its own pings among them", "stream"},
     set_replies},
    {{"symbol_form", text(64), "How the source writes a symbol, e.g. \"{symbol}.US\"; \"*.{symbol}\": behind any word",
      kOnTheWire},
     {set_symbol_form, initial<FeedSettings, &FeedSettings::symbol_form>}},
    {{"subscribe_form", texts(),
      "How a symbol is written where it is asked for, if not as in symbol_form; several: each of them", kOverHttp},
     set_subscribe_form},
    {{"symbol_names", headers(), "Our symbols = the source's names, where symbol_form does not give them", kOnTheWire},
     set<FeedSettings, &FeedSettings::symbol_names>},
    {{"symbol_words", headers(), "The source's numbers and other names in what it sends = our symbols", kOnTheWire},
     set<FeedSettings, &FeedSettings::symbol_words>},
    {{"time_zone", zone(), "Zone of times that name none, e.g. \"America/New_York\"", kOnTheWire},
     set<FeedSettings, &FeedSettings::time_zone>},
    {{"price_decimals", count(0, 9), "Prices are whole numbers with this many decimal places", kOnTheWire},
     set<FeedSettings, &FeedSettings::price_decimals>},
    {{"lot_size", count(1, 1'000'000), "Shares in one unit of size", kOnTheWire},
     set<FeedSettings, &FeedSettings::lot_size>},
    {{"volume_lot_size", count(1, 1'000'000), "Shares in one unit of the day's volume", kOnTheWire},
     set<FeedSettings, &FeedSettings::volume_lot_size>},
    {{"odd_lot_below", count(0, 1'000'000), "Trades of fewer shares are odd lots; 0: the source says which are",
      kOnTheWire},
     set<FeedSettings, &FeedSettings::odd_lot_below>},
    {{"sequence_by_symbol", boolean(), "The sequence counts each symbol separately", kOnTheWire},
     set<FeedSettings, &FeedSettings::sequence_by_symbol>},
    {{"rehearsal", fraction_up_to(100'000),
      "The source replays a past day (brimwatch serve) at this playback speed; 0: it is a live one", kOnTheWire},
     set<FeedSettings, &FeedSettings::rehearsal>},
    {{"past_days", word(kPastDays),
      "Data of a day that is over by this machine's clock: left out, or told as usual (a recorded day that a "
      "program plays)",
      kOnTheWire},
     set<FeedSettings, &FeedSettings::past_days>},
    {{"frame_kib", count(1, 65'536), "Longest message, line or answer taken, in KiB", kOnTheWire},
     {set_frame_size, initial_frame_size}},
};

}  // namespace
}  // namespace sections

std::span<const Key<FeedSettings>> feed_keys() { return sections::kFeed; }

}  // namespace brimwatch
