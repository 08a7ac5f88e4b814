#pragma once
// TOML 1.0 text -> Value. The only place that knows the TOML library.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "config/reading/value.h"

namespace brimwatch {

struct SyntaxError {
  Place place;
  std::string text;  ///< what is wrong, in the parser's words
};

struct Document {
  Value root;  ///< a table
  std::optional<SyntaxError> error;
};

/// Never throws. The parser stops at the first mistake in the syntax, so there is one at the most.
[[nodiscard]] Document parse_document(std::string_view text, std::uint16_t file);

}  // namespace brimwatch
