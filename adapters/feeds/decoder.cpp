#include "adapters/feeds/decoder.h"

#include <simdjson.h>

#include <algorithm>
#include <cstring>

#include "adapters/feeds/message.h"
#include "adapters/feeds/pointer.h"
#include "adapters/feeds/value_walker.h"

namespace brimwatch {
namespace {

namespace json = simdjson::ondemand;

constexpr std::size_t kSymbolLongest = 32;

}  // namespace

struct Decoder::Body {
  Body(Mapping compiled, SymbolTable& table, std::uint64_t longest)
      : mapping(std::move(compiled)), symbols(table), frame_bytes_most(longest), walker(mapping.slot_count) {
    frame_values.resize(mapping.slot_count);
    frame_texts.resize(mapping.slot_count);
  }

  void decode(std::string_view frame, Timestamp received, Decoded& out);

  // Each of these returns false when the frame's JSON turns out broken; `problem` says how.
  bool decode_frame(std::string_view frame);
  bool read_frame_values(json::document& document);
  bool descend(json::value value, std::size_t depth);
  bool take_messages(json::value value);
  bool take_array(json::array array);
  bool take_members(json::object object);
  bool take_message(json::value value);

  void begin_message();
  void end_message();
  void emit_tick(MessageKind kind, const MessageValues& message);
  bool broken(std::string_view what);
  bool broken(simdjson::error_code error) { return broken(simdjson::error_message(error)); }
  void malformed(const char* field);
  void pass_over(MessageKind kind, const MessageValues& message);
  [[nodiscard]] bool is_wanted(SymbolId id) const { return take_all || (id < wanted.size() && wanted[id]); }

  Mapping mapping;
  SymbolTable& symbols;
  std::uint64_t frame_bytes_most;
  bool take_all = true;
  std::vector<bool> wanted;  ///< by symbol id

  json::parser parser;
  std::vector<char> buffer;  ///< the frame, with the room behind it that the parser wants
  ValueWalker walker;
  std::vector<FieldValue> frame_values;
  std::vector<std::string> frame_texts;  ///< what frame_values point to
  std::string_view key;

  // Of the frame in hand.
  std::string_view frame;
  Timestamp received;
  Decoded* out = nullptr;
  bool found_messages = false;

  DecodeCounts counts;
  std::string problem;
};

void Decoder::Body::decode(std::string_view bytes, Timestamp when, Decoded& into) {
  if (trimmed(bytes).empty()) return;
  frame = bytes;
  received = when;
  out = &into;
  ++counts.frames;
  const DecodeCounts before = counts;
  const std::size_t ticks = into.ticks.size(), sequences = into.sequences.size(), answers = into.answers.size(),
                    passed = into.passed.size();
  if (decode_frame(bytes)) {
    if (!into.sequences.empty()) into.sequences.resize(into.ticks.size());
    return;
  }
  counts = before;
  ++counts.frames_broken;
  into.ticks.resize(ticks);
  into.sequences.resize(sequences);
  into.answers.resize(answers);
  into.passed.resize(passed);
}

bool Decoder::Body::decode_frame(std::string_view bytes) {
  if (bytes.size() > frame_bytes_most) {
    return broken(std::to_string(bytes.size()) + " bytes, more than the " + std::to_string(frame_bytes_most) +
                  " allowed");
  }
  if (buffer.size() < bytes.size() + simdjson::SIMDJSON_PADDING) buffer.resize(bytes.size() + simdjson::SIMDJSON_PADDING);
  std::memcpy(buffer.data(), bytes.data(), bytes.size());
  json::document document;
  if (const auto error = parser.iterate(buffer.data(), bytes.size(), buffer.size()).get(document)) return broken(error);
  if (!mapping.frame.empty() && !read_frame_values(document)) return false;
  bool scalar = false;
  if (const auto error = document.is_scalar().get(scalar)) return broken(error);
  if (scalar) return broken("a single value, expected an object or an array");
  json::value root;
  if (const auto error = document.get_value().get(root)) return broken(error);
  found_messages = false;
  if (!descend(root, 0)) return false;
  if (document.current_location().error() != simdjson::OUT_OF_BOUNDS) return broken("more behind the end of the message");
  if (!found_messages) {  // a heartbeat or an answer: only what is in the frame itself can tell
    begin_message();
    end_message();
  }
  return true;
}

/// Values that stand beside the messages are read in a pass of their own: they may come after them.
bool Decoder::Body::read_frame_values(json::document& document) {
  auto& values = walker.values();
  values.assign(mapping.slot_count, FieldValue{});
  bool scalar = false;
  if (const auto error = document.is_scalar().get(scalar)) return broken(error);
  if (scalar) return broken("a single value, expected an object or an array");
  json::value root;
  if (const auto error = document.get_value().get(root)) return broken(error);
  if (!walker.walk(root, mapping.frame, mapping.frame.nodes[0])) return broken(walker.fault());
  for (std::size_t i = 0; i < values.size(); ++i) {
    frame_texts[i].assign(values[i].text);
    frame_values[i] = {values[i].kind, frame_texts[i], 0, 0};
  }
  document.rewind();
  return true;
}

bool Decoder::Body::descend(json::value value, std::size_t depth) {
  if (depth == mapping.messages.size()) {
    if (found_messages) return broken("the messages' name twice in one frame");
    found_messages = true;
    return take_messages(value);
  }
  json::json_type type{};
  if (const auto error = value.type().get(type)) return broken(error);
  const std::string& token = mapping.messages[depth];
  if (type == json::json_type::object) {
    json::object object;
    if (const auto error = value.get_object().get(object)) return broken(error);
    for (auto result : object) {
      json::field field;
      std::string_view name;
      if (const auto error = std::move(result).get(field)) return broken(error);
      if (const auto error = field.unescaped_key().get(name)) return broken(error);
      if (name == token && !descend(field.value(), depth + 1)) return false;
    }
  } else if (type == json::json_type::array) {
    json::array array;
    if (const auto error = value.get_array().get(array)) return broken(error);
    const auto wanted_index = array_index(token);
    std::size_t index = 0;
    for (auto result : array) {
      json::value element;
      if (const auto error = std::move(result).get(element)) return broken(error);
      if (wanted_index == index++ && !descend(element, depth + 1)) return false;
    }
  }
  return true;
}

bool Decoder::Body::take_messages(json::value value) {
  json::json_type type{};
  if (const auto error = value.type().get(type)) return broken(error);
  if (type == json::json_type::array) {
    json::array array;
    if (const auto error = value.get_array().get(array)) return broken(error);
    return take_array(array);
  }
  if (type == json::json_type::object && mapping.symbol_is_key) {
    json::object object;
    if (const auto error = value.get_object().get(object)) return broken(error);
    return take_members(object);
  }
  if (type == json::json_type::object) return take_message(value);
  found_messages = false;  // null or a scalar where messages would be: none
  return true;
}

/// An array of messages, or one message whose fields are told apart by position: its first element is no container then.
bool Decoder::Body::take_array(json::array array) {
  std::size_t index = 0;
  bool positional = false;
  for (auto result : array) {
    json::value element;
    bool scalar = false;
    if (const auto error = std::move(result).get(element)) return broken(error);
    if (const auto error = element.is_scalar().get(scalar)) return broken(error);
    if (index == 0 && scalar) {
      positional = true;
      begin_message();
    }
    const auto& tree = mapping.message;
    if (!positional && !take_message(element)) return false;
    if (positional && !walker.walk_element(element, index, tree, tree.nodes[0])) return broken(walker.fault());
    ++index;
  }
  if (positional) end_message();
  return true;
}

bool Decoder::Body::take_members(json::object object) {
  for (auto result : object) {
    json::field field;
    if (const auto error = std::move(result).get(field)) return broken(error);
    if (const auto error = field.unescaped_key().get(key)) return broken(error);
    if (!take_message(field.value())) return false;
  }
  key = {};
  return true;
}

bool Decoder::Body::take_message(json::value value) {
  begin_message();
  if (!walker.walk(value, mapping.message, mapping.message.nodes[0])) return broken(walker.fault());
  end_message();
  return true;
}

void Decoder::Body::begin_message() {
  ++counts.messages;
  walker.entries().clear();
  std::copy(frame_values.begin(), frame_values.end(), walker.values().begin());
}

void Decoder::Body::end_message() {
  const MessageValues message{walker.values(), walker.entries(), key};
  const MessageKind kind = kind_of(mapping, message);
  switch (kind) {
    case MessageKind::unknown:
      ++counts.unknown;
      pass_over(MessageKind::trade, message);
      return;
    case MessageKind::ignore:
      ++counts.ignored;
      pass_over(MessageKind::trade, message);
      return;
    case MessageKind::accepted:
    case MessageKind::refused:
      ++counts.ignored;
      pass_over(MessageKind::trade, message);
      out->answers.push_back({kind == MessageKind::accepted, excerpt(frame)});
      return;
    case MessageKind::trade:
    case MessageKind::quote:
    case MessageKind::cancel:
    case MessageKind::correct:
    case MessageKind::status:
    case MessageKind::bar:
    case MessageKind::day:
      emit_tick(kind, message);
      return;
  }
}

void Decoder::Body::emit_tick(MessageKind kind, const MessageValues& message) {
  const std::string_view name = symbol_of(mapping, kind, message);
  if (name.empty() || name.size() > kSymbolLongest) return malformed("symbol");
  SymbolId id = symbols.find(name);
  if (!(id == kNoSymbol ? take_all : is_wanted(id))) {
    ++counts.unwatched;
    pass_over(kind, message);
    return;
  }
  Tick tick;
  if (const char* wrong = fill_tick(mapping, kind, message, tick)) return malformed(wrong);
  tick.symbol = id == kNoSymbol ? symbols.intern(name) : id;
  tick.received = received;
  if (!tick.time.is_set()) tick.time = received;
  ++counts.ticks;
  out->ticks.push_back(tick);
  if (mapping.slots[static_cast<std::size_t>(kind)][static_cast<std::size_t>(Field::sequence)] != kNoSlot) {
    out->sequences.resize(out->ticks.size() - 1);
    out->sequences.push_back(sequence_of(mapping, kind, message));
  }
}

/// A message that gives no tick has its number all the same.
void Decoder::Body::pass_over(MessageKind kind, const MessageValues& message) {
  const std::uint64_t sequence = sequence_of(mapping, kind, message);
  if (sequence != 0) out->passed.push_back({out->ticks.size(), sequence});
}

bool Decoder::Body::broken(std::string_view what) {
  problem = "broken message, not used: " + std::string(what) + ": " + excerpt(frame, 120);
  return false;
}

void Decoder::Body::malformed(const char* field) {
  ++counts.malformed;
  problem = std::string(field) + " missing or not readable, message not used: " + excerpt(frame, 120);
}

void Decoded::clear() {
  ticks.clear();
  sequences.clear();
  answers.clear();
  passed.clear();
}

Decoder::Decoder(std::unique_ptr<Body> body) : body_(std::move(body)) {}
Decoder::~Decoder() = default;
Decoder::Decoder(Decoder&&) noexcept = default;
Decoder& Decoder::operator=(Decoder&&) noexcept = default;

Result<Decoder> Decoder::make(const FeedSettings& settings, SymbolTable& symbols) {
  auto mapping = compile_mapping(settings);
  if (!mapping) return tl::unexpected(mapping.error());
  return Decoder(std::make_unique<Body>(std::move(*mapping), symbols, settings.frame_bytes_most));
}

void Decoder::want(const std::vector<std::string>& symbols) {
  body_->take_all = false;
  body_->wanted.assign(body_->wanted.size(), false);
  for (const auto& name : symbols) {
    const SymbolId id = body_->symbols.intern(name);
    if (id >= body_->wanted.size()) body_->wanted.resize(id + 1);
    body_->wanted[id] = true;
  }
}

void Decoder::decode(std::string_view frame, Timestamp received, Decoded& out) { body_->decode(frame, received, out); }
const DecodeCounts& Decoder::counts() const { return body_->counts; }
const std::string& Decoder::last_problem() const { return body_->problem; }

std::string excerpt(std::string_view bytes, std::size_t most) {
  std::string out;
  for (const char c : bytes.substr(0, most)) out += c >= ' ' && c <= '~' ? c : '.';
  if (bytes.size() > most) out += "...";
  return out;
}

}  // namespace brimwatch
