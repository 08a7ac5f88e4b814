#pragma once
// Where a key stands that a text names: "kind_words.T: found ..." -> the place of T in the table kind_words.
#include <string_view>

#include "config/reading/value.h"

namespace brimwatch {

/// As far as the path leads; the table itself when its first name is not there.
[[nodiscard]] Place place_of_key(const Value& table, std::string_view text);

}  // namespace brimwatch
