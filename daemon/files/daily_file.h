#pragma once
// DIR/SYMBOL.csv: a stock's daily bars, or an index's. The one reader of such files for all who need them.
#include <optional>
#include <string>

#include "core/daily.h"

namespace brimwatch {

/// The symbol is the file's name without its ending. With `today`, bars dated later are left out, counted as skipped, and
/// the first of them is the first problem. Errors name the file and, where there is one, line and column.
[[nodiscard]] Result<DailySeries> read_daily(const std::string& path, DailyRows rows, std::optional<Date> today = {});

}  // namespace brimwatch
