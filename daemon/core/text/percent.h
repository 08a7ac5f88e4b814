#pragma once
// Percent-encoding (RFC 3986, section 2.1).
#include <string>
#include <string_view>

namespace brimwatch {

/// %XX for every byte but the unreserved characters (letters, digits and -._~) and those in `kept`.
[[nodiscard]] std::string percent_encode(std::string_view text, std::string_view kept = {});

}  // namespace brimwatch
