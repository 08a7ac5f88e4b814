#pragma once
// Gaps in a source's own numbering. Pure.
#include <cstdint>
#include <vector>

#include "core/symbols.h"
#include "core/text/timestamp.h"

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

  /// Notes the number of a message that gives no tick. What is missing before it shows at the next message that does.
  void on_passed(std::uint64_t sequence);

  /// Forgets the numbers: they may start anywhere after a reconnect.
  void restart() {
    last_.clear();
    open_ = {};
  }

  [[nodiscard]] bool by_symbol() const { return by_symbol_; }

 private:
  struct Last {
    std::uint64_t sequence = 0;
    Timestamp time;
  };
  [[nodiscard]] Gap note(Last& last, std::uint64_t sequence, Timestamp time);

  bool by_symbol_;
  Gap open_;                ///< found at a message that gave no tick
  std::vector<Last> last_;  ///< by symbol id, or only the first
};

}  // namespace brimwatch
