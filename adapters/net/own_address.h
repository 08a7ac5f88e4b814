#pragma once
// Which requests come from a page of our own, for the servers of this folder. A page of another site can make a browser
// ask us; it cannot make it lie about the Host it thinks it asks, nor about where the request comes from.
#include <string>
#include <string_view>

namespace brimwatch {

/// The Host header is one of our three spellings with our port: a name that was re-bound to 127.0.0.1 is none.
[[nodiscard]] inline bool is_own_host(std::string_view host, int port) {
  const std::string end = ":" + std::to_string(port);
  return host == "127.0.0.1" + end || host == "[::1]" + end || host == "localhost" + end;
}

/// The Origin header names a page that we have served under that Host.
[[nodiscard]] inline bool is_own_origin(std::string_view origin, std::string_view host) {
  return origin == "http://" + std::string(host);
}

}  // namespace brimwatch
