#pragma once
// All sorts of a sample while their kinds are judged: their values as columns, the symbols that each has, what was found.
#include <array>
#include <set>
#include <string>
#include <vector>

#include "adapters/guessing/kinds/said.h"

namespace brimwatch {

struct SortsInHand {
  SortsInHand(const std::vector<Record>& all, const Sorts& by_word, const std::vector<PlaceNames>& of_places);

  [[nodiscard]] std::optional<MessageKind> said_of(const Sort& sort) const { return said.said_of(sort); }
  /// With the symbols of the other sorts: its own prove nothing.
  [[nodiscard]] Known known_to(std::size_t i) const;
  /// The first sort of trades; without trades that of quotes, and so on. As many as there are sorts: none.
  [[nodiscard]] std::size_t main_sort() const;

  const std::vector<Record>& records;
  const Sorts& sorts;
  const std::vector<PlaceNames> names;
  const SaidKinds said;
  Known known;
  std::vector<std::set<std::string>> learned;  ///< of each sort, its symbols as it writes them
  std::vector<Table> tables;
  std::vector<SortGuess> out;

 private:
  void learn_symbols();
  void learn_from(std::size_t i, const std::string& pointer);
};

/// The kinds that fields decide between, the most wanted first.
inline constexpr std::array kJudgedKinds{MessageKind::trade, MessageKind::quote, MessageKind::bar, MessageKind::day,
                                         MessageKind::status};

}  // namespace brimwatch
