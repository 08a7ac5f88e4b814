#pragma once
// A snapshot as one JSON object on one line: what the control socket answers to "now", and what the page draws.
#include <string>

#include "core/snapshot.h"

namespace brimwatch {

[[nodiscard]] std::string to_json(const Snapshot& snapshot, std::chrono::seconds offset);

}  // namespace brimwatch
