#pragma once
// A curve drawn for a terminal. Pure.
#include <string>

#include "volume/history.h"

namespace brimwatch {

/// One line a quarter-hour (two for the ends of the day): a bar for its share of the day's volume, the share done by
/// then, and a mark where the default stands. `symbol` heads it, with days, width and feed ratio in words.
[[nodiscard]] std::string draw_curve(const std::string& symbol, const Learned& learned);

}  // namespace brimwatch
