#pragma once
// An address (URL) taken apart, as far as it has to be judged: by the configuration's checks, and by who connects.
// Stricter than RFC 3986, so that no two parsers can take it for two places.
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

struct ListenEnd {
  std::string host;  ///< an IP address, without brackets
  int port = 0;
  bool loopback = false;
};

/// "192.0.2.7:8443" or "[::1]:8443": an address of a machine, never a name. Empty when it is none.
[[nodiscard]] std::optional<ListenEnd> parse_listen(std::string_view text);

/// Scheme, host and port, for a log or a person: a path and a query may hold a key.
[[nodiscard]] std::string address_to_show(std::string_view url);

/// For the person who wrote it: without its query and its user.
[[nodiscard]] std::string without_query(std::string_view url);

/// 127.0.0.1 or ::1 as such; a name may resolve to anything.
[[nodiscard]] bool is_loopback(const Address& address);

}  // namespace brimwatch
