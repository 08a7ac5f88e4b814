#pragma once
// A number as it is written in a configuration file -> whole millionths, exactly.
#include <cstdint>
#include <optional>
#include <string_view>

namespace brimwatch {

/// Takes what TOML allows in a decimal (sign, `_` between digits, exponent). Empty when it is no such number, has digits
/// below a millionth, or does not fit.
[[nodiscard]] std::optional<std::int64_t> micros_of(std::string_view token);

}  // namespace brimwatch
