#pragma once
// The messages of one sort while their fields are found: how each column behaves, which are taken. Pure.
#include <set>
#include <string>
#include <vector>

#include "adapters/guessing/fields.h"

namespace brimwatch {

struct FieldsInHand {
  FieldsInHand(const Table& table_of_sort, MessageKind of_kind, const Known& known_so_far);

  /// Neither a field yet, nor what tells the kind.
  [[nodiscard]] bool is_free(std::size_t column) const;
  [[nodiscard]] bool has(Field field) const { return out.count(field) != 0; }
  void use(const std::string& pointer);
  /// By what columns are to each other: likely, and no more.
  void set(Field field, std::size_t column, std::string why);

  /// Free columns that can be prices.
  [[nodiscard]] std::vector<std::size_t> prices_left() const;
  [[nodiscard]] std::size_t place_of(Field field) const;

  const Table& table;
  const MessageKind kind;
  const Known& known;
  std::vector<Behaviour> behaviours;  ///< of the columns
  std::set<std::size_t> used;
  FieldGuesses out;
};

}  // namespace brimwatch
