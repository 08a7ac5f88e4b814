#pragma once
// Where daily bars lie: files of the places given, and the splits told of each.
#include <string>
#include <vector>

#include "core/daily.h"
#include "core/result.h"
#include "weekend/events.h"

namespace brimwatch {

/// Files and the *.csv of folders, sorted, each once, `index` left out (it is measured against, not looked at, even where
/// it lies among the stocks). With `symbol` only its file; an error where there is none.
[[nodiscard]] Result<std::vector<std::string>> bar_files(const std::vector<std::string>& places, const std::string& index,
                                                         const std::string& symbol);

/// What the events file and the series' own file tell; a split told by both is one split.
[[nodiscard]] std::vector<PriceEvent> events_of(const DailySeries& series, const PriceEvents& all);

}  // namespace brimwatch
