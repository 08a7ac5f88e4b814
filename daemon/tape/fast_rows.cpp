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
    case Column::status:
      return false;
    case Column::time:
    case Column::symbol:
    case Column::price:
    case Column::size:
    case Column::conditions:
      return false;
  }
  return false;
}

}  // namespace brimwatch
