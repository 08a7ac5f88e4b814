#pragma once
// Requests to the control socket. Pure; any bytes give an answer.
#include <cstdint>
#include <string_view>

namespace brimwatch {

enum class Ask : std::uint8_t { unknown, now, reload, hand_over, answer };

/// One request line: {"ask":"now"}; answers are read by answers/message.h. The whole of it: config/control.schema.json.
[[nodiscard]] Ask ask_of(std::string_view request);

}  // namespace brimwatch
