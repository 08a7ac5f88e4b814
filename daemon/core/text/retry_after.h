#pragma once
// HTTP's Retry-After (RFC 9110, section 10.2.3): a number of seconds, or a date in one of the three forms of
// section 5.6.7.
#include <chrono>
#include <optional>
#include <string_view>

#include "core/text/timestamp.h"

namespace brimwatch {

/// How long to wait from `now` on; blanks and a line's end around it do not count. A date gone by is 0; more than a day
/// is taken as a day; anything else is empty.
[[nodiscard]] std::optional<std::chrono::seconds> parse_retry_after(std::string_view value, Timestamp now);

/// "Sun, 06 Nov 1994 08:49:37 GMT", "Sunday, 06-Nov-94 08:49:37 GMT", "Sun Nov  6 08:49:37 1994".
[[nodiscard]] std::optional<Timestamp> parse_http_date(std::string_view text, Timestamp now);

}  // namespace brimwatch
