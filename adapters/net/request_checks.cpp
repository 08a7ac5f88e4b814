#include "adapters/net/request_checks.h"

#include <algorithm>

namespace brimwatch {

std::optional<std::string_view> single_value(const BodilessRequest& request, http::field field) {
  if (request.count(field) != 1) return std::nullopt;
  return view(request[field]);
}

std::string_view own_cookie(const BodilessRequest& request) {
  std::string_view rest = single_value(request, http::field::cookie).value_or(""), found;
  for (int count = 0; !rest.empty();) {
    const std::size_t end = std::min(rest.find(';'), rest.size()), start = rest.find_first_not_of(' ');
    const std::string_view one = rest.substr(std::min(start, end), end - std::min(start, end));
    rest.remove_prefix(std::min(end + 1, rest.size()));
    if (!one.starts_with(kCookie) || one.size() <= std::string_view(kCookie).size() ||
        one[std::string_view(kCookie).size()] != '=')
      continue;
    if (++count > 1) return {};
    found = one.substr(std::string_view(kCookie).size() + 1);
  }
  return found;
}

bool is_json(const BodilessRequest& request) {
  const std::string_view type = single_value(request, http::field::content_type).value_or("");
  return type == "application/json" || type.starts_with("application/json;");
}

std::string network_of(const asio::ip::address& address) {
  if (address.is_v4()) return address.to_string();
  if (address.to_v6().is_v4_mapped()) return asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6()).to_string();
  const auto bytes = address.to_v6().to_bytes();
  return {reinterpret_cast<const char*>(bytes.data()), 8};
}

bool comes_from_elsewhere(const BodilessRequest& request) {
  if (request.count("Sec-Fetch-Site") == 0) return false;
  const std::string_view site = view(request["Sec-Fetch-Site"]);
  if (site == "same-origin" || site == "none") return false;
  const bool follows_a_link =
      view(request["Sec-Fetch-Mode"]) == "navigate" && view(request["Sec-Fetch-Dest"]) == "document";
  return !follows_a_link || (view(request.target()) != "/" && view(request.target()) != "/pair");
}

}  // namespace brimwatch
