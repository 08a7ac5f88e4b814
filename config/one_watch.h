#pragma once
// One watch in words, as somebody types it: checked as if it stood in a list.
#include <string>

#include "config/settings.h"
#include "core/result.h"

namespace brimwatch {

struct WatchInWords {
  std::string symbol, pivot, note, until;  ///< as typed; note and until may be empty
};

/// With the rules, calendar and tape that a list would give it; a symbol that is on a list already keeps its calendar.
/// The error is one line: what was found, what is allowed, that nothing was changed.
[[nodiscard]] Result<Watch> read_one_watch(const WatchInWords& words, const Settings& settings);

}  // namespace brimwatch
