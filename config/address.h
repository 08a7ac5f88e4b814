#pragma once
// An address (URL) taken apart, as far as a configuration has to be judged.
#include <optional>
#include <string>
#include <string_view>

namespace brimwatch {

struct Address {
  std::string scheme;     ///< lower case
  bool has_user = false;  ///< something stands before an '@'
  std::string host;       ///< without brackets
  int port = 0;           ///< 0: not said
};

/// Empty when it is no scheme://host[:port][/...].
[[nodiscard]] std::optional<Address> parse_address(std::string_view text);

/// 127.0.0.1 or ::1 as such; a name may resolve to anything.
[[nodiscard]] bool is_loopback(const Address& address);

}  // namespace brimwatch
