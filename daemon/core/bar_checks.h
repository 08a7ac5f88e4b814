#pragma once
// What is done with daily bars that are doubtful: plain choices, one a fault. bars/ finds the faults and does it.
#include <cstdint>

namespace brimwatch {

enum class BarFault : std::uint8_t {
  spike,    ///< one print's high or low, far from its neighbours and from the close
  split,    ///< a step like that of an unreported split or of another unit
  missing,  ///< the exchange traded on a day that has no row
  still,    ///< no volume at all: a halt, or nobody traded
  repeat,   ///< a row that is the one before it, once more
  stale,    ///< the rows end before the last session
  other,    ///< rows of another symbol
};
constexpr int kBarFaults = 7;

enum class BarTreatment : std::uint8_t {
  use,        ///< as if it were sound
  doubt,      ///< used, and said with all that rests on it; no rule counts as kept by it
  leave_out,  ///< that row, or for a split all rows before it, is not used, and said
};

struct BarChecks {
  BarTreatment spike = BarTreatment::doubt, split = BarTreatment::doubt, missing = BarTreatment::doubt,
               still = BarTreatment::leave_out, repeat = BarTreatment::leave_out, stale = BarTreatment::doubt,
               other = BarTreatment::leave_out;
  std::int32_t spike_percent = 15'000'000;  ///< how far beyond its neighbours, open and close; millionths of a percent

  bool operator==(const BarChecks&) const = default;
};

}  // namespace brimwatch
