#pragma once
#include <cstdint>

namespace brimwatch {

enum class LogLevel : std::uint8_t { debug, info, warning, error };

}  // namespace brimwatch
