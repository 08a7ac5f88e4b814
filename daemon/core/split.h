#pragma once
// The effect of a split on prices and on a watch, for notices and for the list's new text. Pure; nothing is changed
// here.
#include <string>
#include <string_view>

#include "core/price.h"
#include "core/watch.h"

namespace brimwatch {

/// A price times `factor`, on the nearest step of `tick`; a tick of 0: to the millionth.
[[nodiscard]] Price in_terms(Price price, double factor, Price tick);

/// One watch in new prices.
struct SplitWatch {
  Price pivot_before, pivot, range_top, loss_limit;
};

/// `ratio`: new shares for one old one, above 0. The pivot lies on a tick.
[[nodiscard]] SplitWatch after_split(Price pivot, const Rules& rules, double ratio);

/// "pivot 48.35 would be 24.18, range to 25.38, loss limit 22.24".
[[nodiscard]] std::string in_words(const SplitWatch& watch);

/// "2:1" for 2, "1:10" for 0.1, "1.27:1" where it is no common one.
[[nodiscard]] std::string split_text(double ratio);

/// What writes the split into the lists: "brimwatch history split KLVN 2:1 --take".
[[nodiscard]] std::string split_command(std::string_view symbol, double ratio);

}  // namespace brimwatch
