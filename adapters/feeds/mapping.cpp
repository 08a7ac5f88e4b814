#include "adapters/feeds/mapping.h"

#include "adapters/feeds/pointer.h"

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
};

constexpr const char* kKindWords[] = {"trade", "quote", "cancel", "correct",  "status",
                                      "bar",   "day",   "ignore", "accepted", "refused"};
constexpr std::size_t kTickKinds = 7;
constexpr const char* kKindsAllowed =
    "expected one of trade, quote, cancel, correct, status, bar, day, ignore, accepted, refused";

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
    add_rules();
    add_words();
    add_rest();
    if (!problems_.empty()) return fail("feed \"" + settings_.name + "\": " + problems_.front());
    return std::move(out_);
  }
  [[nodiscard]] std::vector<std::string> take_problems() { return std::move(problems_); }

 private:
  void refuse(const std::string& key, const std::string& what) { problems_.push_back(key + ": " + what); }

  Slot add_pointer(const std::string& key, std::string_view pointer) {
    constexpr std::string_view kFrame = "frame:";
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
      if (entry.field == Field::symbol && pointer == "key") {
        out_.symbol_is_key = true;
        continue;
      }
      const Slot slot = add_pointer(std::string("fields.") + entry.name, pointer);
      for (auto& of_kind : out_.slots) of_kind[static_cast<std::size_t>(entry.field)] = slot;
      if (entry.field == Field::kind) out_.kind_slot = slot;
    }
    if (settings_.fields.symbol.empty())
      refuse("fields.symbol", "found nothing, expected a JSON Pointer such as /symbol");
  }

  void add_overrides() {
    for (const auto& [word, map] : settings_.fields_of) {
      const auto kind = message_kind_of(word);
      const std::string key = "fields_of." + word;
      if (!kind || static_cast<std::size_t>(*kind) >= kTickKinds) {
        refuse(key, "found \"" + word + "\", expected one of trade, quote, cancel, correct, status, bar, day");
        continue;
      }
      for (const auto& entry : kFieldTable) {
        const std::string& pointer = map.*entry.pointer;
        if (pointer.empty() || entry.field == Field::kind) continue;
        const Slot slot = add_pointer(key + "." + entry.name, pointer);
        out_.slots[static_cast<std::size_t>(*kind)][static_cast<std::size_t>(entry.field)] = slot;
      }
    }
  }

  void add_rules() {
    for (std::size_t i = 0; i < settings_.rules.size(); ++i) {
      const MessageRule& rule = settings_.rules[i];
      const std::string key = "rules[" + std::to_string(i + 1) + "]";
      const auto kind = message_kind_of(rule.kind);
      if (!kind) refuse(key + ".kind", "found \"" + rule.kind + "\", " + kKindsAllowed);
      const Slot slot = add_pointer(key + ".at", rule.at);
      out_.rules.push_back({slot, rule.equals, kind.value_or(MessageKind::unknown)});
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
  }

  void add_rest() {
    const auto format = time_format_of(settings_.fields.time_format);
    if (!format) {
      refuse("fields.time_format",
             "found \"" + settings_.fields.time_format + "\", expected one of rfc3339, s, ms, us, ns");
    }
    out_.time_format = format.value_or(TimeFormat::rfc3339);
    auto messages = parse_pointer(settings_.fields.messages);
    if (!messages) refuse("fields.messages", messages.error().text);
    if (messages) out_.messages = std::move(*messages);
    const auto kind = message_kind_of(settings_.default_kind);
    if (!kind && !settings_.default_kind.empty()) {
      refuse("default_kind", "found \"" + settings_.default_kind + "\", " + kKindsAllowed);
    }
    out_.default_kind = kind.value_or(MessageKind::unknown);
    add_symbol_form();
  }

  void add_symbol_form() {
    constexpr std::string_view kPlace = "{symbol}";
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

std::optional<MessageKind> message_kind_of(std::string_view word) {
  for (std::size_t i = 0; i < std::size(kKindWords); ++i) {
    if (word == kKindWords[i]) return static_cast<MessageKind>(i);
  }
  return std::nullopt;
}

void PointerTree::add(const std::vector<std::string>& tokens, Slot slot) {
  std::uint16_t at = 0;
  for (const auto& token : tokens) {
    const PointerNode* next = child(nodes[at], token);
    if (next == nullptr) {
      const auto made = static_cast<std::uint16_t>(nodes.size());
      nodes.push_back({token, array_index(token), {}, {}});
      nodes[at].children.push_back(made);
      at = made;
    } else {
      at = static_cast<std::uint16_t>(next - nodes.data());
    }
  }
  nodes[at].slots.push_back(slot);
}

const PointerNode* PointerTree::child(const PointerNode& node, std::string_view token) const {
  for (const auto i : node.children) {
    if (nodes[i].token == token) return &nodes[i];
  }
  return nullptr;
}

const PointerNode* PointerTree::child_at(const PointerNode& node, std::size_t index) const {
  for (const auto i : node.children) {
    if (nodes[i].index == index) return &nodes[i];
  }
  return nullptr;
}

std::vector<std::string> mapping_problems(const FeedSettings& settings) {
  Compiler compiler(settings);
  (void)compiler.compile();
  return compiler.take_problems();
}

Result<Mapping> compile_mapping(const FeedSettings& settings) { return Compiler(settings).compile(); }

}  // namespace brimwatch
