#include "adapters/feeds/decoding/decoder.h"

#include "adapters/feeds/decoding/event_text.h"
#include "adapters/feeds/decoding/frame_walker.h"
#include "adapters/feeds/decoding/lines_text.h"
#include "adapters/feeds/decoding/msgpack.h"
#include "adapters/feeds/decoding/symbol_numbers.h"
#include "adapters/feeds/decoding/unpack.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kSymbolLongest = 32;
constexpr std::size_t kReplyValueLongest = 200;

bool is_blank(std::string_view bytes) { return bytes.find_first_not_of(" \t\r\n") == bytes.npos; }

/// A word or a number is a sign of life at the most; only what looks like a message, or is packed, can have held trades.
bool may_hold_trades(std::string_view bytes) {
  const char first = bytes[bytes.find_first_not_of(" \t\r\n")];
  return first == '{' || first == '[' || static_cast<unsigned char>(first) >= 0x80 || first == '\x1F' || first == '\x28';
}

}  // namespace

struct Decoder::Body : MessageSink {
  Body(Mapping compiled, SymbolTable& table, std::uint64_t longest)
      : mapping(std::move(compiled)),
        symbols(table),
        frame_bytes_most(longest),
        unpacker(mapping.packing),
        walker(mapping) {}

  void decode(std::string_view frame, Timestamp received, Decoded& out);
  bool decode_frame();
  /// The frame as text: out of its event, unpacked, as JSON. False when it cannot be.
  bool to_text(std::string_view& text);
  bool unpack(std::string_view& text);
  bool transcribe(std::string_view& text);

  void on_message(const MessageValues& message, MessageKind usual) override;
  void on_unreadable(std::string_view what) override;

  void take_told(const Told& told, const MessageValues& message);
  void take_naming(const MessageValues& message);
  void take_tick(MessageKind kind, const MessageValues& message);
  void give(const Tick& tick, MessageKind kind, const MessageValues& message);
  void want_reply(const CompiledRule& rule, const MessageValues& message);
  bool broken(std::string_view what);
  void malformed(std::string_view field, MessageKind kind, const MessageValues& message);
  void pass_over(MessageKind kind, const MessageValues& message);
  void lose(SymbolId symbol) { out->lost.push_back({out->ticks.size(), symbol}); }
  [[nodiscard]] bool is_wanted(SymbolId id) const { return take_all || (id < wanted.size() && wanted[id]); }

  const Mapping mapping;
  SymbolTable& symbols;
  std::uint64_t frame_bytes_most;
  bool take_all = true;
  std::vector<bool> wanted;  ///< by symbol id
  Unpacker unpacker;
  FrameWalker walker;
  SymbolNumbers numbers;
  std::string transcript;

  // Of the frame in hand.
  std::string_view frame;  ///< as it came
  EventParts event;
  Timestamp received;
  Decoded* out = nullptr;

  DecodeCounts counts;
  UnknownCodes unknown_codes;
  std::string problem;
};

void Decoder::Body::decode(std::string_view bytes, Timestamp when, Decoded& into) {
  if (is_blank(bytes)) return;
  frame = bytes;
  received = when;
  out = &into;
  ++counts.frames;
  const DecodeCounts before = counts;
  const std::size_t ticks = into.ticks.size(), sequences = into.sequences.size(), answers = into.answers.size(),
                    passed = into.passed.size(), lost = into.lost.size(), replies = into.replies.size();
  if (decode_frame()) {
    if (!into.sequences.empty()) into.sequences.resize(into.ticks.size());
    return;
  }
  counts = before;
  ++counts.frames_broken;
  into.ticks.resize(ticks);
  into.sequences.resize(sequences);
  into.answers.resize(answers);
  into.passed.resize(passed);
  into.lost.resize(lost);
  into.replies.resize(replies);
  if (may_hold_trades(bytes)) lose(kNoSymbol);
}

bool Decoder::Body::decode_frame() {
  if (frame.size() > frame_bytes_most) {
    return broken(std::to_string(frame.size()) + " bytes, more than the " + std::to_string(frame_bytes_most) +
                  " allowed (frame_kib)");
  }
  std::string_view text = frame;
  if (!to_text(text)) return false;
  return is_blank(text) || walker.walk(text, event.name, *this) || broken(walker.fault());
}

bool Decoder::Body::to_text(std::string_view& text) {
  if (mapping.events) {
    event = parse_event(text);
    text = event.data;
  }
  if (is_blank(text)) return true;
  if (mapping.packing != Packing::none && !unpack(text)) return false;
  if (mapping.encoding != Encoding::json) return transcribe(text);
  if (mapping.packing != Packing::none) return true;
  const std::string_view packing = packing_of(text);
  return packing.empty() || broken("frames are packed with " + std::string(packing) + "; packing = \"" +
                                   std::string(packing) + "\" unpacks them");
}

bool Decoder::Body::unpack(std::string_view& text) {
  text = unpacker.unpack(text, frame_bytes_most);
  return text.data() != nullptr || broken(unpacker.fault());
}

/// Some sources answer in JSON and send data as MessagePack: '{' and '[' would be small numbers, which are no messages.
bool Decoder::Body::transcribe(std::string_view& text) {
  if (text.front() == '{' || text.front() == '[') return true;
  transcript.clear();
  const bool lines = mapping.encoding != Encoding::msgpack;
  const std::string_view fault = lines
                                     ? json_of_lines(text, mapping.encoding == Encoding::csv ? "csv" : "tags", transcript)
                                     : json_of_msgpack(text, 4 * frame_bytes_most, transcript);
  text = transcript;
  return fault.empty() || broken(fault);
}

void Decoder::Body::on_message(const MessageValues& message, MessageKind usual) {
  ++counts.messages;
  const Told told = tell_kind(mapping, message, usual);
  if (told.rule != nullptr && told.rule->reply) want_reply(*told.rule, message);
  if (told.kind == MessageKind::unknown && told.bad) {
    lose(kNoSymbol);
    return malformed("what tells its kind is", told.kind, message);
  }
  if (told.kind == MessageKind::naming) return take_naming(message);
  if (static_cast<std::size_t>(told.kind) < kKindsWithFields) return take_tick(told.kind, message);
  take_told(told, message);
}

void Decoder::Body::on_unreadable(std::string_view what) {
  ++counts.messages;
  ++counts.malformed;
  problem = std::string(what) + ", none of them used: " + excerpt(frame, 120);
  lose(kNoSymbol);
}

void Decoder::Body::take_told(const Told& told, const MessageValues& message) {
  ++(told.kind == MessageKind::unknown ? counts.unknown : counts.ignored);
  pass_over(MessageKind::trade, message);
  const bool answer = told.kind == MessageKind::accepted || told.kind == MessageKind::refused;
  if (!answer) return;
  // A rule for any text has found the words meant for a person; one for a certain word has not.
  const bool words = told.rule != nullptr && told.rule->equals == "*";
  const std::string_view said = words ? message.at(told.rule->slot).text : std::string_view();
  out->answers.push_back({told.kind == MessageKind::accepted, excerpt(said.empty() ? frame : said)});
}

void Decoder::Body::take_naming(const MessageValues& message) {
  const FieldValue number = field_of(mapping, MessageKind::naming, Field::number, message);
  const FieldValue symbol = field_of(mapping, MessageKind::naming, Field::symbol, message);
  const bool good = !number.text.empty() && number.text.size() <= kSymbolLongest && !symbol.text.empty() &&
                    symbol.text.size() <= 2 * kSymbolLongest;
  if (!good) return malformed("a symbol and its number are", MessageKind::naming, message);
  if (!numbers.name(number.text, symbol.text)) return malformed("room for more numbers is", MessageKind::naming, message);
  ++counts.ignored;
  pass_over(MessageKind::naming, message);
}

void Decoder::Body::take_tick(MessageKind kind, const MessageValues& message) {
  const FieldValue theirs = field_of(mapping, kind, Field::symbol, message);
  const std::string_view name = symbol_of(mapping, numbers.resolved(theirs.text));
  if (name.empty() || name.size() > kSymbolLongest) {
    if (theirs.kind == FieldValue::Kind::bad) lose(kNoSymbol);
    return malformed("symbol", kind, message);
  }
  const SymbolId id = symbols.find(name);
  if (!(id == kNoSymbol ? take_all : is_wanted(id))) {
    ++counts.unwatched;
    return pass_over(kind, message);
  }
  Tick tick;
  if (const char* wrong = fill_tick(mapping, kind, message, tick, unknown_codes)) {
    const bool had_volume = kind == MessageKind::trade || kind == MessageKind::bar;
    if (had_volume && id != kNoSymbol) lose(id);
    return malformed(wrong, kind, message);
  }
  tick.symbol = id == kNoSymbol ? symbols.intern(name) : id;
  give(tick, kind, message);
}

void Decoder::Body::give(const Tick& tick, MessageKind kind, const MessageValues& message) {
  ++counts.ticks;
  Tick& given = out->ticks.emplace_back(tick);
  given.received = received;
  if (!given.time.is_set()) given.time = received;
  if (mapping.slot(kind, Field::sequence) == kNoSlot) return;
  out->sequences.resize(out->ticks.size() - 1);
  out->sequences.push_back(sequence_of(mapping, kind, message));
}

void Decoder::Body::want_reply(const CompiledRule& rule, const MessageValues& message) {
  const FieldValue& value = message.at(rule.slot);
  WantedReply reply{*rule.reply, {}};
  const std::string_view text = value.text.substr(0, kReplyValueLongest);
  if (value.kind == FieldValue::Kind::text) append_json_string(reply.value, text);
  else reply.value = text;
  out->replies.push_back(std::move(reply));
}

/// A message that gives no tick has its number all the same.
void Decoder::Body::pass_over(MessageKind kind, const MessageValues& message) {
  const std::uint64_t sequence =
      static_cast<std::size_t>(kind) < kKindsWithFields ? sequence_of(mapping, kind, message) : 0;
  if (sequence != 0) out->passed.push_back({out->ticks.size(), sequence});
}

bool Decoder::Body::broken(std::string_view what) {
  problem = "broken message, not used: " + std::string(what) + ": " + excerpt(frame, 120);
  return false;
}

namespace {

/// What would be right, where a person can only guess it.
std::string_view allowed_of(std::string_view field) {
  if (field == "time") return ", expected a time as time_format says, its zone in it or by time_zone";
  if (field == "status") return ", expected halted, trading or a word of status_words";
  return {};
}

/// Found and allowed, where the field is there; else that it is missing.
std::string trouble_with(std::string_view field, const Mapping& mapping, MessageKind kind, const MessageValues& message) {
  const auto named = static_cast<std::size_t>(kind) < kKindsWithFields ? field_named(field) : std::nullopt;
  const FieldValue value = named ? field_of(mapping, kind, *named, message) : FieldValue{};
  if (value.text.empty() || value.kind == FieldValue::Kind::bad)
    return std::string(field) + " missing or not readable" + (named ? std::string(allowed_of(field)) : "");
  return std::string(field) + ": found \"" + excerpt(value.text, 40) + "\", not readable" +
         std::string(allowed_of(field));
}

}  // namespace

void Decoder::Body::malformed(std::string_view field, MessageKind kind, const MessageValues& message) {
  ++counts.malformed;
  problem = trouble_with(field, mapping, kind, message) + "; message not used: " + excerpt(frame, 120);
  pass_over(kind, message);
}

void Decoded::clear() {
  ticks.clear();
  sequences.clear();
  answers.clear();
  replies.clear();
  passed.clear();
  lost.clear();
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
const UnknownCodes& Decoder::unknown_codes() const { return body_->unknown_codes; }
const std::string& Decoder::last_problem() const { return body_->problem; }

}  // namespace brimwatch
