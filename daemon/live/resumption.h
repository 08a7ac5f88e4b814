#pragma once
// Drops what a source repeats after a restart: many send their last minute again to each new connection. What the
// journal knew before counts already, and is left out by its time; what came after the last commit is taken, and so fills
// the hole. Pure.
#include <algorithm>
#include <iterator>
#include <span>
#include <vector>

#include "core/tick.h"

namespace brimwatch {

class Resumption {
 public:
  /// The latest exchange time of that symbol which the kept state has in it.
  void know(SymbolId symbol, Timestamp last) {
    if (symbol == kNoSymbol || !last.is_set()) return;
    if (symbol >= last_.size()) last_.resize(symbol + 1);
    last_[symbol] = last;
  }
  /// A time up to which the kept states have all that came, of every symbol.
  void know_of_all(Timestamp until) { of_all_ = std::max(of_all_, until); }

  /// Those of `ticks` that are new; a view that lives until the next call. It never ends: what a quiet symbol traded
  /// hours ago may come again with any later connection.
  [[nodiscard]] std::span<const Tick> fresh(std::span<const Tick> ticks) {
    const auto first = std::find_if(ticks.begin(), ticks.end(), [this](const Tick& tick) { return was_given(tick); });
    if (first == ticks.end()) return ticks;
    kept_.assign(ticks.begin(), first);
    std::copy_if(first, ticks.end(), std::back_inserter(kept_), [this](const Tick& tick) { return !was_given(tick); });
    return kept_;
  }

 private:
  /// A cancel moves no symbol's time, so it is measured by that of all as well.
  [[nodiscard]] bool was_given(const Tick& tick) const {
    if (tick.symbol >= last_.size() || !last_[tick.symbol].is_set()) return false;
    switch (tick.kind) {
      case TickKind::trade:
      case TickKind::bar:
        return tick.time <= last_[tick.symbol];
      case TickKind::cancel:
      case TickKind::correct:
        return tick.time <= std::max(of_all_, last_[tick.symbol]);
      case TickKind::quote:
      case TickKind::status:
      case TickKind::day:
      case TickKind::hole:
        return false;
    }
    return false;
  }

  std::vector<Timestamp> last_;  ///< by symbol
  Timestamp of_all_;
  std::vector<Tick> kept_;
};

}  // namespace brimwatch
