#pragma once
// A split taken into a watch list: pivot, peak and normal volume of a symbol's watches in new prices. Text in, text out;
// all else in the list stays as it is, comments too. Pure.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/settings.h"
#include "core/result.h"
#include "core/split.h"

namespace brimwatch {

/// What a split of `ratio` new shares for one old one would make of the symbol's watches.
[[nodiscard]] std::vector<SplitWatch> watches_after_split(const Settings& settings, std::string_view symbol,
                                                          double ratio);

/// One phrase a watch, with "; " between.
[[nodiscard]] std::string in_words(const std::vector<SplitWatch>& watches);

/// "2", "2:1", "3:2", "1:10" as new shares for one old one; empty for anything else.
[[nodiscard]] std::optional<double> parse_split_ratio(std::string_view text);

/// The list's text with the symbol's prices in new terms. `file` is its number in Settings::files. An error where a
/// number does not stand where the loader has read it.
[[nodiscard]] Result<std::string> with_split(std::string_view text, const Settings& settings, std::uint16_t file,
                                             std::string_view symbol, double ratio);

}  // namespace brimwatch
