#pragma once
// The service manager's watchdog: fed only while the engine makes progress, so that a loop that turns and does nothing is
// noticed.
#include <cstdint>

#include "core/text/timestamp.h"
#include "loop/service.h"

namespace brimwatch {

class Watchdog {
 public:
  explicit Watchdog(const Service& service) : service_(service) {}
  /// `progress` grows with everything the engine has done.
  void on_beat(Nanos steady, std::uint64_t progress);

 private:
  const Service& service_;
  Nanos fed_ = 0;
  std::uint64_t progress_ = 0;  ///< when it was fed
};

}  // namespace brimwatch
