#pragma once
// JSON Pointer (RFC 6901), the text of it only: how to walk a document is the decoder's business.
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"

namespace brimwatch {

/// The tokens of a pointer with ~1 and ~0 undone; empty for "", the whole document. An error says what is not allowed.
[[nodiscard]] Result<std::vector<std::string>> parse_pointer(std::string_view text);

/// A token as an array index: "0" or digits without a leading zero. Empty for anything else, "-" among it.
[[nodiscard]] std::optional<std::size_t> array_index(std::string_view token);

}  // namespace brimwatch
