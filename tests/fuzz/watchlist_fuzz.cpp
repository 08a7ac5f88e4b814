// Any bytes as a watch list in CSV: rows are taken or told, and what is taken obeys the rules.
#include <cstdint>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "config/watches.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace brimwatch;
  Problems errors;
  Reading reading{errors, "/", "/", {}, {}};
  WatchDefaults defaults;
  defaults.calendar = "XNYS";
  WatchList watches;
  add_csv_list({reinterpret_cast<const char*>(data), size}, 0, defaults, reading, watches);
  Problems warnings;
  check_among(watches, {"list.csv"}, errors, warnings);
  for (const Watch& watch : watches) {
    const bool good = watch.pivot.micros > 0 && watch.range_top >= watch.pivot && watch.loss_limit < watch.pivot &&
                      !watch.symbol.empty() && watch.symbol.size() <= 32 && watch.line > 0;
    if (!good) std::abort();
  }
  return 0;
}
