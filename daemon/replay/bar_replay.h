#pragma once
// Minute bars as ticks, so that months of them can be replayed where no tape of trades was kept.
//
// What a bar says, and what it does not: its open is its first price, and goes in at the bar's beginning, with the volume
// of the bars before; high, low and close go in when the bar is over, with its volume. Within the bar nobody knows
// whether the high or the low came first; the engine takes the low first where the bar closed at or above the last price,
// the high first elsewhere. So of a bar that touches a pivot and a loss limit, the order is a guess; a crossing inside a
// bar is reported at the bar's end, at its high, later and dearer than from trades; odd lots, auctions,
// halts and sale conditions are not to be seen. The coarser the bars, the coarser all of this.
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/result.h"
#include "core/symbols.h"
#include "core/tick.h"
#include "session/calendar.h"
#include "volume/learning/bar_decoder.h"
#include "volume/learning/bars.h"

namespace brimwatch {

struct BarReplayOptions {
  bool utc = false;                   ///< times without an offset are UTC, not the exchange's
  bool stamped_end = false;           ///< rows carry the end of their bar
  int bar_minutes = 0;                ///< 0: the commonest gap between rows
  std::optional<Timestamp> from, to;  ///< from <= end of the bar < to
};

/// Whether a file that begins so holds bars: a volume and no price column in its header, or no header at all.
[[nodiscard]] bool looks_like_bars(std::string_view start);

class BarReplay {
 public:
  /// Reads all files at once, sorts what is of the symbols that `symbols` knows into one stream by time; the symbol comes
  /// from a column or the file's name. Errors: a file that cannot be read, days without dates, too many rows.
  static Result<std::unique_ptr<BarReplay>> open(const std::vector<std::string>& paths, const BarReplayOptions& options,
                                                 const Calendar& calendar, const SymbolTable& symbols);

  /// The next ticks, empty at the end. Valid until the next call.
  [[nodiscard]] Result<std::span<const Tick>> next();

  [[nodiscard]] const std::vector<std::string>& remarks() const { return remarks_; }
  [[nodiscard]] std::uint64_t rows() const { return rows_; }
  [[nodiscard]] std::uint64_t malformed() const { return malformed_; }
  [[nodiscard]] std::uint64_t ticks() const { return given_; }

 private:
  struct Bar {
    Timestamp start, end;  ///< end: within the session where the bar belongs to it
    Shares volume;
    BarPrices prices;
    SymbolId symbol = kNoSymbol;
  };
  struct Event {
    Timestamp time;
    std::uint32_t bar = 0;
    bool is_open = false;
  };
  BarReplay() = default;
  Status read(const std::string& path, const BarReplayOptions& options, const Calendar& calendar,
              const SymbolTable& symbols);
  Status take(const SymbolRows& rows, SymbolId symbol, const std::string& path, const BarReplayOptions& options,
              const Calendar& calendar);
  void sort();
  [[nodiscard]] Tick tick_of(const Event& event) const;

  std::vector<Bar> bars_;
  std::vector<Event> events_;
  std::vector<Tick> room_;
  std::vector<std::string> remarks_;
  std::size_t at_ = 0;
  std::uint64_t rows_ = 0, malformed_ = 0, given_ = 0, unwatched_ = 0, closed_days_ = 0, repeated_ = 0;
  int coarsest_ = 0;
};

}  // namespace brimwatch
