#pragma once
// Open daily bars for the checks of crossings, read apart from the project's own readers: the digits of a price as they
// stand in the file, to the millionth.
#include <string>
#include <vector>

#include "core/daily.h"

namespace brimwatch::testing_support {

/// Rows whose prices are not numbers ("null") are left out. Ascending by day; prices raw, but where the file has a column
/// "Split Ratio": those are brought to the terms of the last bar.
[[nodiscard]] std::vector<DailyBar> open_bars(const std::string& path);

/// Prices before `day` halved, volumes doubled: a 2:1 split on that day.
void halve_before(std::vector<DailyBar>& bars, Date day);

}  // namespace brimwatch::testing_support
