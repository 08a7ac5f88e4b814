#pragma once
// base64url without padding (RFC 4648 section 5), as Web Push and its keys are written.
#include <optional>
#include <string>
#include <string_view>

namespace brimwatch {

[[nodiscard]] std::string base64url(std::string_view bytes);

/// Empty when anything else stands in it; padding is taken, since some browsers write it.
[[nodiscard]] std::optional<std::string> from_base64url(std::string_view text);

}  // namespace brimwatch
