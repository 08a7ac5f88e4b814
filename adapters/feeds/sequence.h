#pragma once
// Gaps in a source's own numbering. Pure.
#include <cstdint>
#include <vector>

#include "core/symbols.h"
#include "core/timestamp.h"

namespace brimwatch {

class SequenceGuard {
 public:
  explicit SequenceGuard(bool by_symbol) : by_symbol_(by_symbol) {}

  struct Gap {
    bool found = false;
    Timestamp since;  ///< exchange time of the last message before the gap
  };

  /// Notes a message. A number that jumps forward is a gap; one that goes back is a repetition or a restart of the source
  /// (which some do against their own documents), never a gap. 0 means the message has none.
  [[nodiscard]] Gap on_message(SymbolId symbol, std::uint64_t sequence, Timestamp time);

  /// Forgets the numbers: they may start anywhere after a reconnect.
  void restart() { last_.clear(); }

  [[nodiscard]] bool by_symbol() const { return by_symbol_; }

 private:
  struct Last {
    std::uint64_t sequence = 0;
    Timestamp time;
  };
  bool by_symbol_;
  std::vector<Last> last_;  ///< by symbol id, or only the first
};

}  // namespace brimwatch
