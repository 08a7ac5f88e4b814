#pragma once
// Trades and bars as far as their volume goes; and bars that are told more than once under one word: while they grow, or
// in several lengths. Pure.
#include <cstdint>
#include <set>
#include <string>
#include <vector>

#include "adapters/guessing/kinds.h"

namespace brimwatch {

/// A trade, or a bar.
struct VolumeAt {
  std::string symbol;
  std::int64_t ns = 0;
  double shares = 0, price = 0;
  std::size_t record = 0;
};

/// Those that have all of it; none where the sort has no time.
[[nodiscard]] std::vector<VolumeAt> parts_of_sort(const std::vector<Record>& records, const SortGuess& guess);
[[nodiscard]] std::set<std::string> symbols_of_parts(const std::vector<VolumeAt>& parts);
/// The shortest step from one bar to the next; 0 where there is none.
[[nodiscard]] std::int64_t length_of_bars(const std::vector<VolumeAt>& bars);

/// Bars under one word that a value beside them parts become sorts of their own: those that grow still are passed over,
/// each length stands for itself. What no value tells is asked.
void split_bars(const std::vector<Record>& records, std::vector<SortGuess>& guesses);

}  // namespace brimwatch
