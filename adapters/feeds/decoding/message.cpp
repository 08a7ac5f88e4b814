#include "adapters/feeds/decoding/message.h"

#include <algorithm>

#include "adapters/feeds/decoding/flag.h"
#include "adapters/feeds/decoding/sale_conditions.h"

namespace brimwatch {
namespace {

using Kind = FieldValue::Kind;

/// Reads fields of one message of one kind.
class Reader {
 public:
  Reader(const Mapping& mapping, MessageKind kind, const MessageValues& values)
      : mapping_(mapping), kind_(kind), values_(values) {}

  [[nodiscard]] bool mapped(Field field) const { return mapping_.slot(kind_, field) != kNoSlot; }
  [[nodiscard]] FieldValue value(Field field) const { return field_of(mapping_, kind_, field, values_); }
  [[nodiscard]] bool has(Field field) const { return value(field).is_given(); }

  /// Millionths; left alone where the field is absent. False when it holds anything but a number of at least 0.
  [[nodiscard]] bool price(Field field, Price& into) const {
    return read(field, 6 - mapping_.price_decimals, 1, into.micros);
  }
  [[nodiscard]] bool size(Field field, Shares& into) const { return read(field, 6, mapping_.lot_size, into.micros); }
  [[nodiscard]] bool day_volume(Shares& into) const {
    return read(Field::day_volume, 6, mapping_.volume_lot_size, into.micros);
  }

  [[nodiscard]] bool time(Tick& tick) const {
    if (!mapped(Field::time)) return true;  // the caller puts the time of receipt there
    const auto format = mapping_.time_formats[static_cast<std::size_t>(kind_)];
    const auto time = parse_time(value(Field::time).text, format, mapping_.zone);
    if (time) tick.time = *time;
    return time.has_value();
  }

  [[nodiscard]] const Mapping& mapping() const { return mapping_; }
  [[nodiscard]] const MessageValues& message() const { return values_; }

 private:
  bool read(Field field, int decimals, std::int64_t times, std::int64_t& into) const {
    const FieldValue found = value(field);
    if (!found.is_given()) return true;
    if (found.kind != Kind::text && found.kind != Kind::number) return false;
    const auto number = scaled_decimal(found.text, decimals);
    return number && *number >= 0 && !__builtin_mul_overflow(*number, times, &into);
  }

  const Mapping& mapping_;
  MessageKind kind_;
  const MessageValues& values_;
};

/// A flag: true, a number that is not 0, "Y". Nothing is no; what is neither yes nor no is empty, and told.
std::optional<bool> flag_of(const FieldValue& value, UnknownCodes& unknown) {
  if (value.kind == Kind::number) return scaled_decimal(value.text, 6).value_or(1) != 0;
  const auto flag = value.kind == Kind::list ? std::nullopt : flag_in_text(value.text);
  if (!flag) unknown.add_flag(value.kind == Kind::list ? "a list" : value.text);
  return flag;
}

/// A trade whose flag nobody understands is taken for a round lot: to move no price by it would make us blind.
bool is_odd_lot(const Reader& reader, const Tick& tick, UnknownCodes& unknown) {
  const std::int64_t below = reader.mapping().odd_lot_below;
  if (below > 0 && tick.size.micros > 0 && tick.size < Shares::whole(below)) return true;
  const FieldValue odd = reader.value(Field::odd_lot);
  return odd.is_given() && flag_of(odd, unknown).value_or(false);
}

char exchange_of(const Reader& reader) {
  const FieldValue value = reader.value(Field::exchange);
  const auto found = reader.mapping().exchange_words.find(value.text);
  if (found != reader.mapping().exchange_words.end()) return found->second;
  return value.text.size() == 1 ? value.text[0] : '\0';
}

/// After the size has been read: it may make the trade an odd lot.
const char* fill_conditions(const Reader& reader, Tick& tick, UnknownCodes& unknown) {
  const FieldValue conditions = reader.value(Field::conditions);
  if (conditions.kind == Kind::bad) return "conditions";
  tick.conditions =
      conditions_of(reader.mapping(), conditions, reader.message(), is_odd_lot(reader, tick, unknown), unknown);
  return nullptr;
}

const char* fill_trade(const Reader& reader, Tick& tick) {
  if (!reader.price(Field::price, tick.price) || !tick.price.is_set()) return "price";
  if (!reader.size(Field::size, tick.size)) return "size";
  if (reader.mapped(Field::size) && !reader.has(Field::size)) return "size";
  return reader.day_volume(tick.day_volume) ? nullptr : "day_volume";
}

const char* fill_bid_and_ask(const Reader& reader, Tick& tick) {
  if (!reader.price(Field::bid, tick.bid)) return "bid";
  if (!reader.price(Field::ask, tick.ask)) return "ask";
  if (!reader.size(Field::bid_size, tick.bid_size)) return "bid_size";
  return reader.size(Field::ask_size, tick.ask_size) ? nullptr : "ask_size";
}

const char* fill_quote(const Reader& reader, Tick& tick) {
  const char* wrong = fill_bid_and_ask(reader, tick);
  return wrong != nullptr || tick.bid.is_set() || tick.ask.is_set() ? wrong : "bid and ask";
}

const char* fill_cancel(const Reader& reader, Tick& tick) {
  if (!reader.price(Field::price, tick.price)) return "price";
  if (!reader.size(Field::size, tick.size)) return "size";
  return tick.id != 0 || (tick.price.is_set() && tick.size.micros > 0) ? nullptr : "id";
}

const char* fill_correct(const Reader& reader, Tick& tick) {
  if (const char* wrong = fill_trade(reader, tick)) return wrong;
  if (!reader.price(Field::old_price, tick.bid)) return "old_price";
  if (!reader.size(Field::old_size, tick.bid_size)) return "old_size";
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
  if (!reader.price(Field::low, tick.bid)) return "low";
  if (!reader.price(Field::high, tick.ask)) return "high";
  if (!tick.bid.is_set()) tick.bid = tick.price;
  if (!tick.ask.is_set()) tick.ask = tick.price;
  return tick.bid <= tick.price && tick.price <= tick.ask ? nullptr : "low and high";
}

const char* fill_day(const Reader& reader, Tick& tick) {
  if (!reader.price(Field::price, tick.price)) return "price";
  if (!reader.size(Field::size, tick.size)) return "size";
  if (!reader.day_volume(tick.day_volume)) return "day_volume";
  if (const char* wrong = fill_bid_and_ask(reader, tick)) return wrong;
  return tick.price.is_set() || tick.day_volume.micros > 0 ? nullptr : "price";
}

const char* fill_kind(const Reader& reader, MessageKind kind, Tick& tick) {
  switch (kind) {
    case MessageKind::trade:
      return fill_trade(reader, tick);
    case MessageKind::quote:
      return fill_quote(reader, tick);
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
    case MessageKind::naming:
    case MessageKind::ignore:
    case MessageKind::accepted:
    case MessageKind::refused:
    case MessageKind::unknown:
      break;
  }
  return "kind";
}

/// One bad value makes the whole message doubtful, be it only its number.
bool has_bad_value(const Mapping& mapping, MessageKind kind, const MessageValues& values) {
  const auto& slots = mapping.slots[static_cast<std::size_t>(kind)];
  return std::any_of(slots.begin(), slots.end(),
                     [&](Slot slot) { return slot != kNoSlot && values.at(slot).kind == Kind::bad; });
}

/// A snapshot's price is that of its last trade, whose conditions say whether it counts.
bool has_print(MessageKind kind) {
  return kind == MessageKind::trade || kind == MessageKind::cancel || kind == MessageKind::correct ||
         kind == MessageKind::day;
}

/// A star at the end, or the beginning, stands for any text.
bool fits(std::string_view pattern, std::string_view text) {
  if (pattern == text || pattern == "*") return true;
  if (pattern.size() < 2) return false;
  if (pattern.back() == '*') return text.starts_with(pattern.substr(0, pattern.size() - 1));
  return pattern.front() == '*' && text.ends_with(pattern.substr(1));
}

/// What is left behind a prefix, or before a suffix with the text turned round: "trade." or "*.", whatever stands there.
std::string_view behind(std::string_view text, std::string_view prefix) {
  if (!prefix.starts_with('*')) return text.starts_with(prefix) ? text.substr(prefix.size()) : std::string_view();
  const std::string_view mark = prefix.substr(1);
  const std::size_t at = mark.empty() ? text.npos : text.find(mark);
  return at == text.npos ? std::string_view() : text.substr(at + mark.size());
}

std::string_view before(std::string_view text, std::string_view suffix) {
  if (!suffix.ends_with('*'))
    return text.ends_with(suffix) ? text.substr(0, text.size() - suffix.size()) : std::string_view();
  const std::string_view mark = suffix.substr(0, suffix.size() - 1);
  const std::size_t at = mark.empty() ? text.npos : text.rfind(mark);
  return at == text.npos ? std::string_view() : text.substr(0, at);
}

}  // namespace

Told tell_kind(const Mapping& mapping, const MessageValues& values, MessageKind usual) {
  bool bad = false;
  for (const auto& rule : mapping.rules) {
    const FieldValue& value = values.at(rule.slot);
    bad = bad || value.kind == Kind::bad;
    if (!value.is_given() || value.kind == Kind::bad) continue;
    if (fits(rule.equals, value.text)) return {rule.kind, &rule, false};
  }
  if (mapping.kind_slot == kNoSlot) return {usual, nullptr, bad};
  const FieldValue& value = values.at(mapping.kind_slot);
  if (value.kind == Kind::bad) return {MessageKind::unknown, nullptr, true};
  if (!value.is_given()) return {usual, nullptr, bad};
  const auto found = mapping.kind_words.find(value.text);
  return {found == mapping.kind_words.end() ? MessageKind::unknown : found->second, nullptr, bad};
}

FieldValue field_of(const Mapping& mapping, MessageKind kind, Field field, const MessageValues& values) {
  const Slot slot = mapping.slot(kind, field);
  return slot == kNoSlot ? FieldValue{} : values.at(slot);
}

std::string_view symbol_of(const Mapping& mapping, std::string_view text) {
  const auto word = mapping.symbol_words.find(text);
  if (word != mapping.symbol_words.end()) return word->second;
  return before(behind(text, mapping.symbol_prefix), mapping.symbol_suffix);
}

std::uint64_t sequence_of(const Mapping& mapping, MessageKind kind, const MessageValues& values) {
  const auto number = scaled_decimal(field_of(mapping, kind, Field::sequence, values).text, 0);
  return number && *number > 0 ? static_cast<std::uint64_t>(*number) : 0;
}

const char* fill_tick(const Mapping& mapping, MessageKind kind, const MessageValues& values, Tick& tick,
                      UnknownCodes& unknown) {
  const Reader reader(mapping, kind, values);
  if (has_bad_value(mapping, kind, values)) return "a value of the mapping is";
  if (!reader.time(tick)) return "time";
  tick.kind = static_cast<TickKind>(kind);
  tick.exchange = exchange_of(reader);
  // Of others than trades these would say nothing, and in an array of values their places hold something else.
  if (has_print(kind)) tick.id = trade_id_of(reader.value(Field::id).text);
  if (const char* wrong = fill_kind(reader, kind, tick)) return wrong;
  return has_print(kind) ? fill_conditions(reader, tick, unknown) : nullptr;
}

}  // namespace brimwatch
