#pragma once
// How far the values at a pointer behave like a price, a size, a count of the day's volume, a number of a trade: judged
// by symbol, in the order in which the messages came. Pure.
#include <string>
#include <vector>

#include "adapters/guessing/shape_of_value.h"

namespace brimwatch {

/// Messages of one sort, as columns; `groups` says by number which symbol each is of.
struct Table {
  std::vector<const Record*> records;
  std::vector<PointerColumn> columns;
  std::vector<std::size_t> groups;  ///< as long as `records`
  std::size_t group_count = 1;

  [[nodiscard]] const PointerColumn* find(std::string_view pointer) const;
};

[[nodiscard]] Table table_of(const std::vector<const Record*>& records);

/// Sorts the messages by the symbol that stands at the pointer; an empty one: all are of one.
void group_by(Table& table, std::string_view symbol_pointer);

/// 0 to 1 each: how far the values would be such a thing.
struct Behaviour {
  double price = 0, size = 0, cumulative = 0, id = 0, sequence = 0, code = 0;
  double spread = 0;        ///< mean over the symbols of (most - least) / mean
  double rising = 0;        ///< of the steps from one value of a symbol to the next: those not downwards
  bool steps_seen = false;  ///< a symbol had several messages, so that steps could be judged
  bool still = false;       ///< never changes for any symbol, and there were chances
};

[[nodiscard]] Behaviour behaviour_of(const Table& table, const PointerColumn& column);

/// From one value of a symbol to its next.
struct Steps {
  std::size_t all = 0, up = 0, down = 0;
};
[[nodiscard]] Steps steps_of(const Table& table, const PointerColumn& column);

/// The share of messages in which `total` rose by `size` times `factor` since the symbol's message before; -1: none to
/// judge.
[[nodiscard]] double rises_by(const Table& table, const PointerColumn& total, const PointerColumn& size, double factor);

/// Whether `total` rose by `factor` times the sizes over the whole sample for every symbol, up to a unit of it: where a
/// source rounds its total to hundreds, single messages do not show that.
[[nodiscard]] bool rises_in_all_by(const Table& table, const PointerColumn& total, const PointerColumn& size,
                                   double factor);

/// The share of messages in which both are given and a is not above b.
[[nodiscard]] double stays_under(const PointerColumn& a, const PointerColumn& b);

/// How well the column parts prices by symbol: 1 where prices of one value are near each other and those of different
/// values are not; 0 where it says nothing.
[[nodiscard]] double parts_prices(const Table& table, const PointerColumn& by);

}  // namespace brimwatch
