#include "adapters/feeds/decoding/mapping.h"

#include <algorithm>

#include "adapters/feeds/decoding/pointer.h"
#include "adapters/feeds/decoding/sale_conditions.h"

namespace brimwatch {
namespace {

struct FieldEntry {
  Field field;
  const char* name;
  std::string FieldMap::*pointer;
};

constexpr FieldEntry kFieldTable[kFields] = {
    {Field::symbol, "symbol", &FieldMap::symbol},
    {Field::price, "price", &FieldMap::price},
    {Field::size, "size", &FieldMap::size},
    {Field::time, "time", &FieldMap::time},
    {Field::conditions, "conditions", &FieldMap::conditions},
    {Field::odd_lot, "odd_lot", &FieldMap::odd_lot},
    {Field::exchange, "exchange", &FieldMap::exchange},
    {Field::id, "id", &FieldMap::id},
    {Field::kind, "kind", &FieldMap::kind},
    {Field::day_volume, "day_volume", &FieldMap::day_volume},
    {Field::bid, "bid", &FieldMap::bid},
    {Field::ask, "ask", &FieldMap::ask},
    {Field::bid_size, "bid_size", &FieldMap::bid_size},
    {Field::ask_size, "ask_size", &FieldMap::ask_size},
    {Field::status, "status", &FieldMap::status},
    {Field::sequence, "sequence", &FieldMap::sequence},
    {Field::low, "low", &FieldMap::low},
    {Field::high, "high", &FieldMap::high},
    {Field::old_price, "old_price", &FieldMap::old_price},
    {Field::old_size, "old_size", &FieldMap::old_size},
    {Field::number, "number", &FieldMap::number},
};

constexpr const char* kKindWords[] = {"trade", "quote",  "cancel", "correct",  "status", "bar",
                                      "day",   "naming", "ignore", "accepted", "refused"};
constexpr const char* kKindsAllowed =
    "expected one of trade, quote, cancel, correct, status, bar, day, naming, ignore, accepted, refused";

std::optional<TradingStatus> status_of(std::string_view word) {
  if (word == "trading") return TradingStatus::trading;
  if (word == "halted") return TradingStatus::halted;
  if (word == "paused") return TradingStatus::paused;
  if (word == "quotation") return TradingStatus::quotation;
  return std::nullopt;
}

/// Gathers the compiled form, and all that is wrong.
class Compiler {
 public:
  explicit Compiler(const FeedSettings& settings) : settings_(settings) {}

  Result<Mapping> compile() {
    for (auto& of_kind : out_.slots) of_kind.fill(kNoSlot);
    add_fields();
    add_overrides();
    add_places();
    add_replies();
    add_rules();
    add_words();
    add_times();
    add_numbers();
    add_wrapping();
    add_symbol_form();
    if (!problems_.empty()) return fail("feed \"" + settings_.name + "\": " + problems_.front());
    return std::move(out_);
  }
  [[nodiscard]] std::vector<std::string> take_problems() { return std::move(problems_); }

 private:
  void refuse(const std::string& key, const std::string& what) { problems_.push_back(key + ": " + what); }

  Slot add_pointer(const std::string& key, std::string_view pointer) {
    constexpr std::string_view kFrame = "frame:";
    if (pointer == "key") return kKeySlot;
    if (pointer == "event") return kEventSlot;
    const bool in_frame = pointer.substr(0, kFrame.size()) == kFrame;
    if (in_frame) pointer.remove_prefix(kFrame.size());
    const auto tokens = parse_pointer(pointer);
    if (!tokens) return refuse(key, tokens.error().text), kNoSlot;
    const auto slot = static_cast<Slot>(out_.slot_count++);
    (in_frame ? out_.frame : out_.message).add(*tokens, slot);
    return slot;
  }

  void add_fields() {
    for (const auto& entry : kFieldTable) {
      const std::string& pointer = settings_.fields.*entry.pointer;
      if (pointer.empty()) continue;
      const Slot slot = add_pointer(std::string("fields.") + entry.name, pointer);
      for (auto& of_kind : out_.slots) of_kind[static_cast<std::size_t>(entry.field)] = slot;
      if (entry.field == Field::kind) out_.kind_slot = slot;
    }
    if (settings_.fields.symbol.empty())
      refuse("fields.symbol", "found nothing, expected a JSON Pointer such as /symbol");
  }

  /// The kind that a table of fields_of is for.
  std::optional<MessageKind> kind_with_fields(const std::string& word) {
    const auto kind = message_kind_of(word);
    if (kind && static_cast<std::size_t>(*kind) < kKindsWithFields) return kind;
    refuse("fields_of." + word,
           "found \"" + word + "\", expected one of trade, quote, cancel, correct, status, bar, day, naming");
    return std::nullopt;
  }

  void add_overrides() {
    for (const auto& [word, map] : settings_.fields_of) {
      const auto kind = kind_with_fields(word);
      if (!kind) continue;
      for (const auto& entry : kFieldTable) {
        const std::string& pointer = map.*entry.pointer;
        if (pointer.empty()) continue;
        const std::string key = "fields_of." + word + "." + entry.name;
        if (entry.field == Field::kind) {
          refuse(key, "found \"" + pointer + "\", expected it in fields: it says which kind a message is");
          continue;
        }
        out_.slots[static_cast<std::size_t>(*kind)][static_cast<std::size_t>(entry.field)] = add_pointer(key, pointer);
      }
    }
  }

  /// Messages of one kind may stand at a place of their own.
  void add_places() {
    const auto usual = message_kind_of(settings_.default_kind);
    if (!usual && !settings_.default_kind.empty()) {
      refuse("default_kind", "found \"" + settings_.default_kind + "\", " + kKindsAllowed);
    }
    add_place("fields.messages", settings_.fields.messages, usual.value_or(MessageKind::unknown),
              settings_.fields.symbol);
    out_.places.front().columns = settings_.columns;
    for (const auto& [word, map] : settings_.fields_of) {
      const auto kind = message_kind_of(word);
      if (!kind || map.messages.empty() || map.messages == settings_.fields.messages) continue;
      const std::string& symbol = map.symbol.empty() ? settings_.fields.symbol : map.symbol;
      add_place("fields_of." + word + ".messages", map.messages, *kind, symbol);
    }
  }

  void add_place(const std::string& key, const std::string& pointer, MessageKind usual, const std::string& symbol) {
    auto tokens = parse_pointer(pointer);
    if (!tokens) refuse(key, tokens.error().text);
    MessagePlace place{tokens ? std::move(*tokens) : std::vector<std::string>(), usual, symbol == "key", false};
    for (const MessagePlace& other : out_.places) {
      if (!other.tokens.empty() && is_inside(place.tokens, other.tokens)) {
        refuse(key, "found \"" + pointer + "\", which stands inside another place of messages; expected one beside it");
      }
    }
    if (!place.tokens.empty()) out_.inner_places.add(place.tokens, static_cast<Slot>(out_.places.size()));
    out_.places.push_back(std::move(place));
  }

  static bool is_inside(const std::vector<std::string>& a, const std::vector<std::string>& b) {
    for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i) {
      if (a[i] != b[i]) return false;
    }
    return true;
  }

  /// What wants a reply is no message otherwise. Before the other rules: one of them may be for whatever is left.
  void add_replies() {
    for (std::size_t i = 0; i < settings_.replies.size(); ++i) {
      const SourceReply& reply = settings_.replies[i];
      const Slot slot = add_pointer("replies[" + std::to_string(i + 1) + "].at", reply.at);
      if (slot != kNoSlot) out_.rules.push_back({slot, reply.equals, MessageKind::ignore, i});
    }
  }

  void add_rules() {
    for (std::size_t i = 0; i < settings_.rules.size(); ++i) {
      const MessageRule& rule = settings_.rules[i];
      const std::string key = "rules[" + std::to_string(i + 1) + "]";
      const auto kind = message_kind_of(rule.kind);
      if (!kind) refuse(key + ".kind", "found \"" + rule.kind + "\", " + kKindsAllowed);
      const Slot slot = add_pointer(key + ".at", rule.at);
      if (slot != kNoSlot) out_.rules.push_back({slot, rule.equals, kind.value_or(MessageKind::unknown), {}});
    }
  }

  void add_words() {
    for (std::size_t i = 0; i < std::size(kKindWords); ++i) out_.kind_words[kKindWords[i]] = static_cast<MessageKind>(i);
    for (const auto& [theirs, ours] : settings_.kind_words) {
      const auto kind = message_kind_of(ours);
      if (!kind) refuse("kind_words." + theirs, "found \"" + ours + "\", " + kKindsAllowed);
      out_.kind_words[theirs] = kind.value_or(MessageKind::unknown);
    }
    for (const char* word : {"trading", "halted", "paused", "quotation"}) out_.status_words[word] = *status_of(word);
    for (const auto& [theirs, ours] : settings_.status_words) {
      const auto status = status_of(ours);
      if (!status) {
        refuse("status_words." + theirs, "found \"" + ours + "\", expected one of trading, halted, paused, quotation");
      }
      out_.status_words[theirs] = status.value_or(TradingStatus::none);
    }
    for (const auto& [theirs, ours] : settings_.exchange_words) {
      if (ours.size() != 1) refuse("exchange_words." + theirs, "found \"" + ours + "\", expected one letter");
      out_.exchange_words[theirs] = ours.empty() ? '\0' : ours[0];
    }
    out_.condition_words.insert(settings_.condition_words.begin(), settings_.condition_words.end());
    if (settings_.conditions == "cts" || settings_.conditions == "utdf") out_.tape_codes = codes_of_the_tapes();
  }

  TimeFormat time_format(const std::string& key, const std::string& word) {
    const auto format = time_format_of(word.empty() ? "rfc3339" : word);
    if (!format) refuse(key, "found \"" + word + "\", expected one of rfc3339, s, ms, us, ns");
    return format.value_or(TimeFormat::rfc3339);
  }

  void add_times() {
    out_.time_formats.fill(time_format("fields.time_format", settings_.fields.time_format));
    for (const auto& [word, map] : settings_.fields_of) {
      const auto kind = message_kind_of(word);
      if (!kind || static_cast<std::size_t>(*kind) >= kKindsWithFields || map.time_format.empty()) continue;
      out_.time_formats[static_cast<std::size_t>(*kind)] =
          time_format("fields_of." + word + ".time_format", map.time_format);
    }
    auto zone = read_zone(settings_.time_zone);
    if (!zone) refuse("time_zone", zone.error().text);
    if (zone) out_.zone = std::move(*zone);
  }

  void add_numbers() {
    out_.price_decimals = settings_.price_decimals;
    out_.lot_size = settings_.lot_size;
    out_.volume_lot_size = settings_.volume_lot_size;
    out_.odd_lot_below = settings_.odd_lot_below;
  }

  void add_wrapping() {
    constexpr const char* kPackings[] = {"none", "gzip", "deflate", "zstd"};
    const auto* packing = std::find(std::begin(kPackings), std::end(kPackings), settings_.packing);
    if (packing == std::end(kPackings)) {
      refuse("packing", "found \"" + settings_.packing + "\", expected one of none, gzip, deflate, zstd");
    } else {
      out_.packing = static_cast<Packing>(packing - kPackings);
    }
    constexpr const char* kEncodings[] = {"json", "msgpack", "csv", "tags"};
    const auto* encoding = std::find(std::begin(kEncodings), std::end(kEncodings), settings_.encoding);
    if (encoding == std::end(kEncodings)) {
      refuse("encoding", "found \"" + settings_.encoding + "\", expected one of json, msgpack, csv, tags");
    } else {
      out_.encoding = static_cast<Encoding>(encoding - kEncodings);
    }
    out_.events = settings_.kind == "events";
  }

  void add_symbol_form() {
    constexpr std::string_view kPlace = "{symbol}";
    for (const auto& [ours, theirs] : settings_.symbol_names) out_.symbol_words[theirs] = ours;
    for (const auto& [theirs, ours] : settings_.symbol_words) out_.symbol_words[theirs] = ours;
    const std::size_t at = settings_.symbol_form.find(kPlace);
    if (at == std::string::npos) {
      return refuse("symbol_form", "found \"" + settings_.symbol_form + "\", expected a text with {symbol} in it");
    }
    out_.symbol_prefix = settings_.symbol_form.substr(0, at);
    out_.symbol_suffix = settings_.symbol_form.substr(at + kPlace.size());
  }

  const FeedSettings& settings_;
  Mapping out_;
  std::vector<std::string> problems_;
};

}  // namespace

std::optional<Field> field_named(std::string_view name) {
  const auto found = std::find_if(std::begin(kFieldTable), std::end(kFieldTable),
                                  [name](const FieldEntry& entry) { return entry.name == name; });
  return found == std::end(kFieldTable) ? std::nullopt : std::optional(found->field);
}

std::optional<MessageKind> message_kind_of(std::string_view word) {
  for (std::size_t i = 0; i < std::size(kKindWords); ++i) {
    if (word == kKindWords[i]) return static_cast<MessageKind>(i);
  }
  return std::nullopt;
}

std::vector<std::string> mapping_problems(const FeedSettings& settings) {
  Compiler compiler(settings);
  (void)compiler.compile();
  return compiler.take_problems();
}

Result<Mapping> compile_mapping(const FeedSettings& settings) { return Compiler(settings).compile(); }

}  // namespace brimwatch
