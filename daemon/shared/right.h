#pragma once
// The right to speak, as the threads that send look at it: until when, on the clock that goes on while a machine sleeps
// (CLOCK_BOOTTIME). Set on the loop's thread, read on any.
#include <atomic>
#include <limits>

#include "core/text/timestamp.h"

namespace brimwatch {

class SpeakingRight {
 public:
  static constexpr Nanos kWithoutEnd = std::numeric_limits<Nanos>::max();  ///< of one that speaks alone

  void set(Nanos until) { until_.store(until, std::memory_order_release); }
  void take_away() { set(0); }
  [[nodiscard]] Nanos until() const { return until_.load(std::memory_order_acquire); }
  [[nodiscard]] bool is_alone() const { return until() == kWithoutEnd; }
  [[nodiscard]] bool holds(Nanos boot_now) const { return boot_now < until(); }

 private:
  std::atomic<Nanos> until_{0};
};

}  // namespace brimwatch
