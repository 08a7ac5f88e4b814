#pragma once
// The common row of a tape to a tick, from the places of its separators: a trade whose fields have their usual forms. It
// says false for every other row, which row.h then reads or refuses. The two give the same tick where both read a row; a
// test runs them side by side on random tapes.
#include <cstdint>
#include <vector>

#include "core/tick.h"
#include "tape/columns.h"
#include "tape/field_values.h"
#include "tape/symbol_cache.h"

namespace brimwatch {

class FastRows {
 public:
  FastRows(const Layout& layout, SymbolCache& symbols);

  [[nodiscard]] std::size_t fields() const { return fields_; }

  /// `ends` are the places (from `text`) of the next fields() separators; the row starts at `start`. Fills every field of
  /// the tick, or says false.
  bool read(const char* text, std::uint32_t start, const std::uint32_t* ends, Tick& tick) {
    if (!is_one_row(text, ends)) return false;
    // A carriage return before the line end belongs to it.
    const std::uint32_t line_end = ends[fields_ - 1] - (text[ends[fields_ - 1] - 1] == '\r');
    tick = Tick{};
    const auto field = [&](std::size_t index) {
      const std::uint32_t first = index == 0 ? start : ends[index - 1] + 1;
      return Span{text + first, (index + 1 == fields_ ? line_end : ends[index]) - first};
    };
    if (!required(field, tick)) return false;
    for (const Extra& extra : extras_) {
      const Span value = field(extra.index);
      if (value.size != 0 && !optional(extra.column, value, tick)) return false;
    }
    tick.symbol = find_symbol(field(symbol_));  // last, so that no refused row brings in a new symbol
    return tick.symbol != kNoSymbol;
  }

 private:
  struct Span {
    const char* at;
    std::size_t size;
  };
  struct Extra {
    std::size_t index;
    Column column;
  };

  /// Commas between the fields and a line end behind the last, no quotes.
  [[nodiscard]] bool is_one_row(const char* text, const std::uint32_t* ends) const {
    unsigned wrong = static_cast<unsigned char>(text[ends[fields_ - 1]]) ^ unsigned { '\n' };
    for (std::size_t i = 0; i + 1 < fields_; ++i) wrong |= static_cast<unsigned char>(text[ends[i]]) ^ unsigned { ',' };
    return wrong == 0;
  }

  template <typename FieldAt>
  bool required(const FieldAt& field, Tick& tick) {
    const Span time = field(time_), price = field(price_), size = field(size_), codes = field(conditions_);
    bool good = times_.read(time.at, time.size, tick.time);
    good &= fields::decimal(price.at, price.size, tick.price.micros);
    good &= fields::decimal(size.at, size.size, tick.size.micros);
    good &= fields::codes(codes.at, codes.size, tick.conditions);
    return good && tick.price.micros > 0;
  }

  [[nodiscard]] SymbolId find_symbol(Span text) {
    if (text.size - 1 > 7) return symbols_.resolve({text.at, text.size});
    const std::uint64_t key = fields::load8(text.at) & fields::kFirstBytes[text.size];
    if (key >> (8 * (text.size - 1)) == 0) return kNoSymbol;  // ends in a zero byte
    return symbols_.find_packed(key);                         // new ones come in by the plain path
  }

  bool optional(Column column, Span value, Tick& tick);

  SymbolCache& symbols_;
  std::size_t fields_, time_, symbol_, price_, size_, conditions_;
  std::vector<Extra> extras_;
  fields::TimeReader times_, received_;
};

}  // namespace brimwatch
