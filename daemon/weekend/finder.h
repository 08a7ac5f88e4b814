#pragma once
// Finds every base that the definitions in base.h allow on the last bar. One pass to the left from each turn, so that the
// cost of a stock is (turns in the last half year) x (longest base). Pure.
#include <span>
#include <vector>

#include "core/daily.h"
#include "weekend/base.h"
#include "weekend/rulebook.h"

namespace brimwatch {

/// All bases on the last of `bars`, in the order of their points, the plain high ("no base") among them. Bars need
/// prices.
[[nodiscard]] std::vector<Base> find_bases(std::span<const DailyBar> bars, const RuleBook& book);

/// The base of the dates that a user names: start, and the bar where the handle (or second leg) begins; without the
/// latter a flat base. Only the points are computed; the rules say what it is worth. `kind` is double_bottom when the low
/// after `peak` lies in the lower half. Indices must satisfy 0 <= start < peak <= last.
[[nodiscard]] Base base_from_points(std::span<const DailyBar> bars, int start, int peak);
[[nodiscard]] Base flat_from_start(std::span<const DailyBar> bars, int start);

}  // namespace brimwatch
