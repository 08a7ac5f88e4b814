#pragma once
// The common row of a tape to a tick, from the places of its separators: a trade whose fields have their usual forms. It
// stops at every other row, which row.h then reads or refuses. The two give the same tick where both read a row; a test
// runs them side by side on random tapes.
#include <cstddef>
#include <cstdint>
#include <vector>

#include "core/tick.h"
#include "tape/columns.h"
#include "tape/field_values.h"
#include "tape/symbol_cache.h"

namespace brimwatch {

/// Work for FastRows::take: what is read, what is wanted, where it goes; moved on by it.
struct RowRun {
  const char* text = nullptr;           ///< its separators are found; 64 bytes behind it may be read
  std::uint32_t start = 0;              ///< of the next row, from `text`
  const std::uint32_t* next = nullptr;  ///< the separators from there on
  const std::uint32_t* end = nullptr;
  Timestamp from, to;  ///< from <= time < to is wanted
  Tick* out = nullptr;
  Tick* out_end = nullptr;
  std::uint64_t rows = 0;  ///< read, wanted or not
};

class FastRows {
 public:
  FastRows(const Layout& layout, SymbolCache& symbols);

  [[nodiscard]] std::size_t fields() const { return fields_; }

  /// Rows until the ticks or the separators run out (true) or one is not common (false; `start` is at it).
  bool take(RowRun& run) { return (this->*take_)(run); }

 private:
  struct Span {
    const char* at;
    std::size_t size;
  };
  struct Extra {
    std::size_t index;
    Column column;
  };

  // Shapes of tapes. In the first two the places of the columns are constants, which makes a row a third cheaper.
  struct FiveInOrder;  ///< time,symbol,price,size,conditions
  struct SixInOrder;   ///< the same and exchange
  struct AnyOrder;

  template <typename Shape>
  bool take_as(RowRun& run);
  template <typename Shape>
  bool read(const char* text, std::uint32_t start, const std::uint32_t* ends, Tick& tick);
  template <typename Shape>
  [[nodiscard]] bool is_one_row(const char* text, const std::uint32_t* ends) const;
  template <typename Shape, typename FieldAt>
  bool more_columns(const FieldAt& field, Tick& tick);
  [[nodiscard]] SymbolId find_symbol(Span text);
  bool optional(Column column, Span value, Tick& tick);

  SymbolCache& symbols_;
  bool (FastRows::*take_)(RowRun&);
  std::size_t fields_, time_, symbol_, price_, size_, conditions_;
  std::vector<Extra> extras_;
  fields::TimeReader times_, received_;
};

}  // namespace brimwatch
