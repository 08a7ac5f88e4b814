#pragma once
// What a cell of a table says of the daemon's snapshot (JSON): each kind of number with its one writer; "-" where there
// is none. Pure.
#include <optional>
#include <string>

#include "core/text/json_fwd.h"

namespace brimwatch {

[[nodiscard]] std::optional<double> number_of(const OrderedJson& object, const char* key);
/// Cleaned; empty where there is no text.
[[nodiscard]] std::string words_of(const OrderedJson& object, const char* key);

/// "48.35", "0.0123": all the digits that a sub-cent price has.
[[nodiscard]] std::string price_cell(const OrderedJson& object, const char* key);
/// "+3.8 %"
[[nodiscard]] std::string percent_cell(const OrderedJson& object, const char* key, int decimals);
/// "200", "0.5", "1234567": exact, for what somebody holds.
[[nodiscard]] std::string shares_cell(const OrderedJson& object, const char* key);
/// At most eight characters; one that is cut is seen to be, so that two that begin alike are not taken for one.
[[nodiscard]] std::string symbol_cell(const OrderedJson& object);

/// The first `most` characters.
[[nodiscard]] std::string cut(const std::string& text, std::size_t most);

}  // namespace brimwatch
