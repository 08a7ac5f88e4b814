#pragma once
// Random days of random symbols with everything that goes wrong on a feed. The same seed makes the same tape.
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
};

struct TapeShape {
  int symbols = 3, watches = 12, days = 2, ticks_a_day = 2000;
  bool faults = true;  ///< duplicates, late and absurd ticks, cancels, halts, holes, bad prints
};

RandomTape random_tape(std::uint32_t seed, const TapeShape& shape, const Calendar& calendar, SymbolTable& symbols);

}  // namespace brimwatch::test
