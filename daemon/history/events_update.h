#pragma once
// Splits and report dates from a source, put into the files that [history] names. What stands there stays; what is new is
// added behind it. Reads and writes files.
#include <string>
#include <vector>

#include "core/result.h"

namespace brimwatch {

struct EventsTaken {
  int added = 0;
  int passed_over = 0;  ///< rows without a day, a symbol or a ratio
  std::string first_problem;
};

enum class EventsKind : std::uint8_t { splits, reports };

/// `symbol`: whose rows are, where the answer names none. `file` need not be there yet.
[[nodiscard]] Result<EventsTaken> take_events(const std::string& file, EventsKind kind,
                                              const std::vector<std::string>& pages, const std::string& symbol);

}  // namespace brimwatch
