#include "app/inside/watchdog.h"

#include <utility>

namespace brimwatch {

void Watchdog::on_beat(Nanos steady, std::uint64_t progress) {
  const Nanos interval = service_.watchdog_interval();
  if (interval == 0 || steady - fed_ < interval / 2) return;
  if (std::exchange(progress_, progress) == progress) return;
  fed_ = steady;
  service_.alive();
}

}  // namespace brimwatch
