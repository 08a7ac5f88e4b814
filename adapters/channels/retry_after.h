#pragma once
// The Retry-After header (RFC 9110, section 10.2.3). Pure but for the clock it is given.
#include <chrono>
#include <optional>
#include <string_view>

namespace brimwatch {

/// Seconds to wait: a number of them, or until an HTTP date (0 when it has passed); at most a day. Empty when it is
/// neither.
[[nodiscard]] std::optional<std::chrono::seconds> parse_retry_after(std::string_view value, std::chrono::sys_seconds now);

}  // namespace brimwatch
