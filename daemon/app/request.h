#pragma once
// What the control socket is asked. Pure; any bytes give an answer.
#include <cstdint>
#include <string>
#include <string_view>

namespace brimwatch {

enum class Ask : std::uint8_t { unknown, now, reload, hand_over };

/// One request line: {"ask":"now"}.
[[nodiscard]] Ask ask_of(std::string_view request);

/// {"error":"..."} and a line end.
[[nodiscard]] std::string error_answer(std::string_view words);

}  // namespace brimwatch
