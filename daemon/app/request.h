#pragma once
// What the control socket is asked. Pure; any bytes give an answer.
#include <cstdint>
#include <string_view>

namespace brimwatch {

enum class Ask : std::uint8_t { unknown, now, reload };

/// One request line: {"ask":"now"}.
[[nodiscard]] Ask ask_of(std::string_view request);

}  // namespace brimwatch
