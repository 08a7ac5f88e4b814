#pragma once
// The last state of each symbol, as a poll source shows it. Pure.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "core/symbols.h"
#include "core/tick.h"

namespace brimwatch {

/// Takes the ticks as they are due. The day's volume is the tape's own where it has one, else the sum of the trades;
/// trades of an auction's official price and the like count in such a sum although an exchange's own would leave them
/// out.
class Snapshots {
 public:
  void take(const Tick& tick);

  /// {"quotes":[...]} of those symbols that have a state, in the order asked for.
  [[nodiscard]] std::string json(const std::vector<SymbolId>& symbols, const SymbolTable& names) const;
  /// Changes with every change of what json() shows.
  [[nodiscard]] std::uint64_t version() const { return version_; }

 private:
  struct Row {
    Tick last;  ///< kind day
    bool own_volume = false;
  };
  std::vector<Row> rows_;  ///< by symbol
  std::uint64_t version_ = 0;
};

}  // namespace brimwatch
