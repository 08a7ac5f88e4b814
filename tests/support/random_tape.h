#pragma once
// Random days of random symbols with everything that goes wrong on a feed. The same seed makes the same tape.
#include <ostream>
#include <random>
#include <vector>

#include "core/symbols.h"
#include "core/tick.h"
#include "core/watch.h"
#include "session/calendar.h"

namespace brimwatch::test {

struct RandomTape {
  std::vector<Watch> watches;
  std::vector<Tick> ticks;
  bool extended_volume = false;  ///< to be counted
};

struct TapeShape {
  int symbols = 3, watches = 12, days = 2, ticks_a_day = 2000;
  bool faults = true;  ///< duplicates, late and absurd ticks, cancels, halts, holes, bad prints
  bool kinds = false;  ///< bars, snapshots, corrections, counts of the day, clocks that are apart, late cancels, listings
  bool doubts = false;  ///< nights that look like splits, quotes round prices that wait, closing auctions without a code
  const char* mic = "XNYS";
};

inline void PrintTo(const TapeShape& shape, std::ostream* out) {
  *out << shape.symbols << " symbols, " << shape.watches << " watches, " << shape.days << " days"
       << (shape.faults ? ", faults" : "") << (shape.kinds ? ", all kinds" : "") << (shape.doubts ? ", doubts" : "")
       << ", " << shape.mic;
}

RandomTape random_tape(std::uint32_t seed, const TapeShape& shape, const Calendar& calendar, SymbolTable& symbols);

}  // namespace brimwatch::test
