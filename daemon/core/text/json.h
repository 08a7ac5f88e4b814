#pragma once
// JSON values, and their text.
#include <nlohmann/json.hpp>
#include <string>

#include "core/text/json_fwd.h"

namespace brimwatch {

/// On one line. Bytes that are no UTF-8 are replaced, so that whatever came from outside can be written.
template <typename AnyJson = OrderedJson>
[[nodiscard]] std::string json_text(const AnyJson& json) {
  return json.dump(-1, ' ', false, AnyJson::error_handler_t::replace);
}

/// The same with the end of a line.
template <typename AnyJson = OrderedJson>
[[nodiscard]] std::string json_line(const AnyJson& json) {
  return json_text(json) + "\n";
}

}  // namespace brimwatch
