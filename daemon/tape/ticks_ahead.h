#pragma once
// A tape that is read on a thread of its own while the ticks before are being used: a long replay is as fast as the
// slower of the two, not as their sum.
#include <memory>
#include <span>

#include "core/result.h"
#include "core/symbols.h"
#include "core/tick.h"
#include "tape/reader.h"

namespace brimwatch {

class TicksAhead {
 public:
  /// As TapeReader::open, of a regular file only (see FilledAhead). `symbols` is used by the caller's thread alone, and
  /// grows as ticks are taken.
  [[nodiscard]] static Result<std::unique_ptr<TicksAhead>> open(OpenedBytes bytes, SymbolTable& symbols,
                                                                const TapeOptions& options = {});
  virtual ~TicksAhead() = default;

  /// The same ticks as TapeReader::next, in larger batches. Empty at the end; after an error it stays at the error.
  [[nodiscard]] virtual Result<std::span<const Tick>> next() = 0;
  [[nodiscard]] virtual const TapeStats& stats() const = 0;  ///< of the whole, once next() was empty
};

}  // namespace brimwatch
