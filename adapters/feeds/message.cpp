#include "adapters/feeds/message.h"

#include "adapters/feeds/decimal.h"

namespace brimwatch {
namespace {

/// Reads fields of one message of one kind.
class Reader {
 public:
  Reader(const Mapping& mapping, MessageKind kind, const MessageValues& values)
      : mapping_(mapping), slots_(mapping.slots[static_cast<std::size_t>(kind)]), values_(values) {}

  [[nodiscard]] bool mapped(Field field) const { return slots_[static_cast<std::size_t>(field)] != kNoSlot; }

  [[nodiscard]] FieldValue value(Field field) const {
    const Slot slot = slots_[static_cast<std::size_t>(field)];
    return slot == kNoSlot ? FieldValue{} : values_.slots[static_cast<std::size_t>(slot)];
  }

  [[nodiscard]] bool has(Field field) const { return value(field).kind != FieldValue::Kind::absent; }

  /// Millionths of what the field holds, 0 when it is absent; false when it holds anything but a number.
  [[nodiscard]] bool read(Field field, std::int64_t& micros) const {
    const FieldValue found = value(field);
    if (found.kind == FieldValue::Kind::absent) return true;
    if (found.kind != FieldValue::Kind::text && found.kind != FieldValue::Kind::number) return false;
    const auto number = scaled_decimal(found.text, 6);
    if (!number) return false;
    micros = *number;
    return true;
  }

  [[nodiscard]] const Mapping& mapping() const { return mapping_; }
  [[nodiscard]] std::string_view entry(std::uint32_t i) const { return values_.entries[i]; }

 private:
  const Mapping& mapping_;
  const std::array<Slot, kFields>& slots_;
  const MessageValues& values_;
};

constexpr char kUnknownCode = '?';  // no tape has it: the eligibility table takes it for what it does not know

/// Collects sale conditions; what does not fit or is not known shows as an unknown code, which is the careful side.
class CodeList {
 public:
  explicit CodeList(const Mapping& mapping) : mapping_(mapping) {}

  /// A whole text: a word of the source's list, or letters as on the tape, commas and blanks between them ignored.
  void add_text(std::string_view text) {
    if (add_word(text)) return;
    if (text.find(',') == text.npos) return add_letters(text);
    for (std::string_view rest = text; !rest.empty();) {
      const std::size_t comma = rest.find(',');
      add_entry(rest.substr(0, comma));
      rest = comma == rest.npos ? std::string_view() : rest.substr(comma + 1);
    }
  }

  /// One entry of a list.
  void add_entry(std::string_view text) {
    if (add_word(text)) return;
    text.size() <= 1 ? add_letters(text) : add(kUnknownCode);
  }

  [[nodiscard]] Conditions done() const { return codes_; }

 private:
  bool add_word(std::string_view text) {
    const auto found = mapping_.condition_words.find(text);
    if (found == mapping_.condition_words.end()) return false;
    add_letters(found->second);
    return true;
  }

  void add_letters(std::string_view text) {
    for (const char c : text) {
      if (c != ' ' && c != '\0') add(c);
    }
  }

  void add(char code) {
    if (used_ < codes_.codes.size()) {
      codes_.codes[used_++] = code;
    } else {
      codes_.codes.back() = kUnknownCode;
    }
  }

  const Mapping& mapping_;
  Conditions codes_;
  std::size_t used_ = 0;
};

Conditions conditions_of(const Reader& reader) {
  CodeList codes(reader.mapping());
  const FieldValue value = reader.value(Field::conditions);
  if (value.kind == FieldValue::Kind::list) {
    for (std::uint32_t i = 0; i < value.count; ++i) codes.add_entry(reader.entry(value.first + i));
  } else if (value.kind == FieldValue::Kind::number) {
    codes.add_entry(value.text);
  } else if (value.kind == FieldValue::Kind::text) {
    codes.add_text(value.text);
  }
  return codes.done();
}

char exchange_of(const Reader& reader) {
  const FieldValue value = reader.value(Field::exchange);
  const auto found = reader.mapping().exchange_words.find(value.text);
  if (found != reader.mapping().exchange_words.end()) return found->second;
  return value.text.size() == 1 ? value.text[0] : '\0';
}

bool time_is_fine(const Reader& reader, Tick& tick) {
  if (!reader.mapped(Field::time)) return true;  // the caller puts the time of receipt there
  const auto time = parse_time(reader.value(Field::time).text, reader.mapping().time_format);
  if (time) tick.time = *time;
  return time.has_value();
}

const char* fill_trade(const Reader& reader, Tick& tick) {
  if (!reader.read(Field::price, tick.price.micros) || tick.price.micros <= 0) return "price";
  if (!reader.read(Field::size, tick.size.micros) || tick.size.micros < 0) return "size";
  if (reader.mapped(Field::size) && !reader.has(Field::size)) return "size";
  if (!reader.read(Field::day_volume, tick.day_volume.micros) || tick.day_volume.micros < 0) return "day_volume";
  return nullptr;
}

const char* fill_quote(const Reader& reader, Tick& tick) {
  if (!reader.read(Field::bid, tick.bid.micros) || tick.bid.micros < 0) return "bid";
  if (!reader.read(Field::ask, tick.ask.micros) || tick.ask.micros < 0) return "ask";
  if (!reader.read(Field::bid_size, tick.bid_size.micros) || tick.bid_size.micros < 0) return "bid_size";
  if (!reader.read(Field::ask_size, tick.ask_size.micros) || tick.ask_size.micros < 0) return "ask_size";
  return nullptr;
}

const char* fill_cancel(const Reader& reader, Tick& tick) {
  if (!reader.read(Field::price, tick.price.micros) || tick.price.micros < 0) return "price";
  if (!reader.read(Field::size, tick.size.micros) || tick.size.micros < 0) return "size";
  return tick.id != 0 || (tick.price.is_set() && tick.size.micros > 0) ? nullptr : "id";
}

const char* fill_correct(const Reader& reader, Tick& tick) {
  if (const char* wrong = fill_trade(reader, tick)) return wrong;
  if (!reader.read(Field::old_price, tick.bid.micros)) return "old_price";
  if (!reader.read(Field::old_size, tick.bid_size.micros)) return "old_size";
  return tick.id != 0 || (tick.bid.is_set() && tick.bid_size.micros > 0) ? nullptr : "id";
}

const char* fill_status(const Reader& reader, Tick& tick) {
  const auto found = reader.mapping().status_words.find(reader.value(Field::status).text);
  if (found == reader.mapping().status_words.end()) return "status";
  tick.status = found->second;
  return nullptr;
}

const char* fill_bar(const Reader& reader, Tick& tick) {
  if (const char* wrong = fill_trade(reader, tick)) return wrong;
  if (!reader.read(Field::low, tick.bid.micros) || tick.bid.micros < 0) return "low";
  if (!reader.read(Field::high, tick.ask.micros) || tick.ask.micros < 0) return "high";
  if (!tick.bid.is_set()) tick.bid = tick.price;
  if (!tick.ask.is_set()) tick.ask = tick.price;
  return tick.bid <= tick.price && tick.price <= tick.ask ? nullptr : "low and high";
}

const char* fill_day(const Reader& reader, Tick& tick) {
  if (!reader.read(Field::price, tick.price.micros) || tick.price.micros < 0) return "price";
  if (!reader.read(Field::day_volume, tick.day_volume.micros) || tick.day_volume.micros < 0) return "day_volume";
  if (const char* wrong = fill_quote(reader, tick)) return wrong;
  return tick.price.is_set() || tick.day_volume.micros > 0 ? nullptr : "price";
}

}  // namespace

MessageKind kind_of(const Mapping& mapping, const MessageValues& values) {
  for (const auto& rule : mapping.rules) {
    const FieldValue& value = values.slots[static_cast<std::size_t>(rule.slot)];
    if (value.kind == FieldValue::Kind::absent) continue;
    if (rule.equals == "*" || rule.equals == value.text) return rule.kind;
  }
  if (mapping.kind_slot == kNoSlot) return mapping.default_kind;
  const FieldValue& value = values.slots[static_cast<std::size_t>(mapping.kind_slot)];
  if (value.kind == FieldValue::Kind::absent) return mapping.default_kind;
  const auto found = mapping.kind_words.find(value.text);
  return found == mapping.kind_words.end() ? MessageKind::unknown : found->second;
}

std::string_view symbol_of(const Mapping& mapping, MessageKind kind, const MessageValues& values) {
  std::string_view text = mapping.symbol_is_key ? values.key : Reader(mapping, kind, values).value(Field::symbol).text;
  const std::string& prefix = mapping.symbol_prefix;
  const std::string& suffix = mapping.symbol_suffix;
  if (text.size() <= prefix.size() + suffix.size()) return {};
  if (text.substr(0, prefix.size()) != prefix || text.substr(text.size() - suffix.size()) != suffix) return {};
  return text.substr(prefix.size(), text.size() - prefix.size() - suffix.size());
}

std::uint64_t sequence_of(const Mapping& mapping, MessageKind kind, const MessageValues& values) {
  const FieldValue value = Reader(mapping, kind, values).value(Field::sequence);
  const auto number = scaled_decimal(value.text, 0);
  return number && *number > 0 ? static_cast<std::uint64_t>(*number) : 0;
}

const char* fill_tick(const Mapping& mapping, MessageKind kind, const MessageValues& values, Tick& tick) {
  const Reader reader(mapping, kind, values);
  if (!time_is_fine(reader, tick)) return "time";
  tick.exchange = exchange_of(reader);
  // Of others they would say nothing, and in an array of values their places hold something else.
  if (kind == MessageKind::trade || kind == MessageKind::cancel || kind == MessageKind::correct) {
    tick.id = trade_id_of(reader.value(Field::id).text);
    tick.conditions = conditions_of(reader);
  }
  tick.kind = static_cast<TickKind>(kind);
  switch (kind) {
    case MessageKind::trade:
      return fill_trade(reader, tick);
    case MessageKind::quote: {
      const char* wrong = fill_quote(reader, tick);
      return wrong != nullptr || tick.bid.is_set() || tick.ask.is_set() ? wrong : "bid and ask";
    }
    case MessageKind::cancel:
      return fill_cancel(reader, tick);
    case MessageKind::correct:
      return fill_correct(reader, tick);
    case MessageKind::status:
      return fill_status(reader, tick);
    case MessageKind::bar:
      return fill_bar(reader, tick);
    case MessageKind::day:
      return fill_day(reader, tick);
    case MessageKind::ignore:
    case MessageKind::accepted:
    case MessageKind::refused:
    case MessageKind::unknown:
      break;
  }
  return "kind";
}

}  // namespace brimwatch
