// Any bytes as a main file: the loader says what is wrong and never falls over. What it takes obeys its own rules.
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <string>

#include "config/loader.h"
#include "config/overview.h"

namespace {

void require(bool good) {
  if (!good) std::abort();
}

void check(const brimwatch::Loaded& loaded) {
  for (const brimwatch::Problem& problem : loaded.problems) {
    require(!problem.text.empty() && problem.text.find('\n') == std::string::npos);
  }
  if (!loaded.ok()) return;
  for (const brimwatch::Watch& watch : loaded.settings.watches) {
    require(watch.pivot.micros > 0 && watch.range_top >= watch.pivot && watch.loss_limit < watch.pivot);
    require(!watch.symbol.empty() && watch.symbol.size() <= 32);
  }
  const brimwatch::Overview overview{loaded.settings,
                                     [](const brimwatch::Watch&) { return brimwatch::NormalVolume{}; },
                                     loaded.settings.market.trend,
                                     {},
                                     {}};
  require(!brimwatch::overview_table(overview).empty() && !brimwatch::explanation(overview).empty());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (std::string(reinterpret_cast<const char*>(data), size).find("watch_lists") != std::string::npos) return 0;
  static const int kFile = ::memfd_create("config", MFD_CLOEXEC);
  if (::ftruncate(kFile, 0) != 0 || ::pwrite(kFile, data, size, 0) != static_cast<ssize_t>(size)) return 0;
  check(brimwatch::load_settings("/proc/self/fd/" + std::to_string(kFile)));
  return 0;
}
