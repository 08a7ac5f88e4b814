#include "tape/fast_rows.h"

#include <string>

namespace brimwatch {
namespace fields {

bool long_decimal(std::string_view text, std::int64_t& micros) {
  const auto value = parse_micros(text, Extra::drop);
  micros = value.value_or(-1);
  return micros >= 0;
}

bool spaced_codes(std::string_view text, Conditions& conditions) {
  for (const char c : text) {
    if (c < ' ' || c > '~') return false;
  }
  conditions = Conditions::of(text);
  return true;
}

bool TimeReader::read_anew(std::string_view text, Timestamp& time) {
  const auto whole = parse_rfc3339(text);
  if (!whole) return false;
  time = *whole;
  const std::size_t zone_size = text.back() == 'Z' || text.back() == 'z' ? 1 : 6;
  const std::string start = std::string(text.substr(0, 17)) + "00" + std::string(text.substr(text.size() - zone_size));
  const auto minute = parse_rfc3339(start);
  if (!minute) return true;
  day_ = load8(text.data());
  minute_ = load8(text.data() + 8);
  zone_size_ = zone_size;
  zone_ = load8(text.data() + text.size() - zone_size) & kFirstBytes[zone_size];
  base_ = minute->ns;
  return true;
}

}  // namespace fields

struct FastRows::FiveInOrder {
  static constexpr bool kInOrder = true;
  static constexpr std::size_t kFields = 5;
};
struct FastRows::SixInOrder {
  static constexpr bool kInOrder = true;
  static constexpr std::size_t kFields = 6;
};
struct FastRows::AnyOrder {
  static constexpr bool kInOrder = false;
  static constexpr std::size_t kFields = 0;
};

FastRows::FastRows(const Layout& layout, SymbolCache& symbols) : symbols_(symbols), fields_(layout.fields) {
  const auto place = [&](Column column) { return static_cast<std::size_t>(layout[column]); };
  time_ = place(Column::time);
  symbol_ = place(Column::symbol);
  price_ = place(Column::price);
  size_ = place(Column::size);
  conditions_ = place(Column::conditions);
  for (std::size_t i = 0; i < layout.of.size(); ++i) {
    if (layout.of[i] && *layout.of[i] >= Column::kind) extras_.push_back({i, *layout.of[i]});
  }
  const bool in_order = time_ == 0 && symbol_ == 1 && price_ == 2 && size_ == 3 && conditions_ == 4;
  take_ = &FastRows::take_as<AnyOrder>;
  if (in_order && fields_ == 5) take_ = &FastRows::take_as<FiveInOrder>;
  if (in_order && fields_ == 6 && layout[Column::exchange] == 5) take_ = &FastRows::take_as<SixInOrder>;
}

template <typename Shape>
bool FastRows::take_as(RowRun& run) {
  const std::size_t count = Shape::kInOrder ? Shape::kFields : fields_;
  const char* text = run.text;
  const std::uint32_t* next = run.next;
  std::uint32_t start = run.start;
  Tick* out = run.out;
  bool common = true;
  for (; out != run.out_end && static_cast<std::size_t>(run.end - next) >= count; next += count) {
    common = read<Shape>(text, start, next, *out);
    if (!common) break;
    out += out->time >= run.from && out->time < run.to;
    start = next[count - 1] + 1;
    ++run.rows;
  }
  run.next = next;
  run.start = start;
  run.out = out;
  return common;
}

/// Commas between the fields and a line end behind the last, no quotes.
template <typename Shape>
inline bool FastRows::is_one_row(const char* text, const std::uint32_t* ends) const {
  const std::size_t count = Shape::kInOrder ? Shape::kFields : fields_;
  unsigned wrong = static_cast<unsigned char>(text[ends[count - 1]]) ^ unsigned { '\n' };
  for (std::size_t i = 0; i + 1 < count; ++i) wrong |= static_cast<unsigned char>(text[ends[i]]) ^ unsigned { ',' };
  return wrong == 0;
}

/// One row; `ends` are the places of its separators. Fills every field of the tick.
template <typename Shape>
inline bool FastRows::read(const char* text, std::uint32_t start, const std::uint32_t* ends, Tick& tick) {
  if (!is_one_row<Shape>(text, ends)) return false;
  const std::size_t count = Shape::kInOrder ? Shape::kFields : fields_;
  // A carriage return before the line end belongs to it.
  const std::uint32_t line_end = ends[count - 1] - (text[ends[count - 1] - 1] == '\r');
  const auto field = [&](std::size_t index) {
    const std::uint32_t first = index == 0 ? start : ends[index - 1] + 1;
    return Span{text + first, (index + 1 == count ? line_end : ends[index]) - first};
  };
  tick = Tick{};
  const Span time = field(Shape::kInOrder ? 0 : time_), price = field(Shape::kInOrder ? 2 : price_);
  const Span size = field(Shape::kInOrder ? 3 : size_), codes = field(Shape::kInOrder ? 4 : conditions_);
  bool good = times_.read(time.at, time.size, tick.time);
  good &= fields::decimal(price.at, price.size, tick.price.micros);
  good &= fields::decimal(size.at, size.size, tick.size.micros);
  good &= fields::codes(codes.at, codes.size, tick.conditions);
  if (!good || tick.price.micros <= 0 || !more_columns<Shape>(field, tick)) return false;
  tick.symbol = find_symbol(field(Shape::kInOrder ? 1 : symbol_));  // last, so that no refused row brings in a new symbol
  return tick.symbol != kNoSymbol;
}

template <typename Shape, typename FieldAt>
inline bool FastRows::more_columns(const FieldAt& field, Tick& tick) {
  if constexpr (Shape::kFields == 5) return true;
  if constexpr (Shape::kFields == 6) {
    const Span value = field(5);
    tick.exchange = value.size == 0 ? '\0' : value.at[0];
    return value.size == 0 || (value.size == 1 && tick.exchange > ' ' && tick.exchange <= '~');
  }
  for (const Extra& extra : extras_) {
    const Span value = field(extra.index);
    if (value.size != 0 && !optional(extra.column, value, tick)) return false;
  }
  return true;
}

inline SymbolId FastRows::find_symbol(Span text) {
  if (text.size - 1 > 7) return symbols_.resolve({text.at, text.size});
  const std::uint64_t key = fields::load8(text.at) & fields::kFirstBytes[text.size];
  if (key >> (8 * (text.size - 1)) == 0) return kNoSymbol;  // ends in a zero byte
  return symbols_.find_packed(key);                         // new ones come in by the plain path
}

bool FastRows::optional(Column column, Span value, Tick& tick) {
  switch (column) {
    case Column::exchange:
      tick.exchange = value.at[0];
      return value.size == 1 && tick.exchange > ' ' && tick.exchange <= '~';
    case Column::kind:
      return std::string_view(value.at, value.size) == "trade";
    case Column::id: {
      std::uint64_t number = 0;
      const bool small = value.size <= 8 && fields::digits8(fields::load8(value.at), value.size, number);
      tick.id = small ? number : trade_id_of({value.at, value.size});
      return true;
    }
    case Column::day_volume:
      return fields::decimal(value.at, value.size, tick.day_volume.micros);
    case Column::bid:
      return fields::decimal(value.at, value.size, tick.bid.micros);
    case Column::ask:
      return fields::decimal(value.at, value.size, tick.ask.micros);
    case Column::bid_size:
      return fields::decimal(value.at, value.size, tick.bid_size.micros);
    case Column::ask_size:
      return fields::decimal(value.at, value.size, tick.ask_size.micros);
    case Column::received:
      return received_.read(value.at, value.size, tick.received);
    case Column::time:
    case Column::symbol:
    case Column::price:
    case Column::size:
    case Column::conditions:
    case Column::status:
      return false;
  }
  return false;
}

}  // namespace brimwatch
