#pragma once
// A watch on an invented symbol that trades a million shares on a usual day in New York.
#include <string>

#include "core/watch.h"

namespace brimwatch::test {

inline Watch watch_on(const std::string& symbol, const char* pivot) {
  Watch watch;
  watch.symbol = symbol;
  watch.pivot = *parse_price(pivot);
  watch.normal_volume = Shares::whole(1'000'000);
  watch.calendar = Mic("XNYS");
  set_levels(watch);
  return watch;
}

}  // namespace brimwatch::test
