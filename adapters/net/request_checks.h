#pragma once
// What a request says of where it comes from, and whom an address stands for. Pure.
#include <optional>
#include <string>
#include <string_view>

#include "adapters/net/beast.h"

namespace brimwatch {

using BodilessRequest = http::request<http::empty_body>;

/// Its name has a prefix: Secure, of this host alone, of all paths (RFC 6265bis).
inline constexpr const char* kCookie = "__Host-brimwatch";

/// The value of a field that stands there once.
[[nodiscard]] std::optional<std::string_view> single_value(const BodilessRequest& request, http::field field);

/// The value of our cookie among those that are sent; of two, neither.
[[nodiscard]] std::string_view own_cookie(const BodilessRequest& request);

/// No form of another site can send that (Fetch, W3C): a browser asks first, and is refused.
[[nodiscard]] bool is_json(const BodilessRequest& request);

/// Whom an address stands for: itself, or its network of 64 bits, which one house is given.
[[nodiscard]] std::string network_of(const asio::ip::address& address);

/// What a browser says of where a request comes from (Fetch Metadata, W3C). A person who follows a link may come from
/// anywhere, to the page itself; others have nothing to ask here. Programs that are no browser say nothing.
[[nodiscard]] bool comes_from_elsewhere(const BodilessRequest& request);

}  // namespace brimwatch
