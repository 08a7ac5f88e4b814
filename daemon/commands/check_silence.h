#pragma once
// `check --explain SYMBOL`: why its watches said nothing on a day, or would say nothing.
#include <functional>
#include <string>
#include <vector>

#include "config/settings.h"

namespace brimwatch {

struct SilenceAsk {
  std::string day, journal;  ///< as on the command line; empty: today, or the day of the next session; as configured
  std::vector<std::string> tapes;  ///< empty: as configured
};

/// Of each watch of these symbols, on standard output. `knows_normal` says whether its normal volume is known. Exit code.
int explain_silence(const SilenceAsk& ask, const std::vector<std::string>& symbols, const Settings& settings, Trend trend,
                    const std::function<bool(const Watch&)>& knows_normal, bool json);

}  // namespace brimwatch
