#include "config/address.h"

#include <arpa/inet.h>

#include <algorithm>
#include <charconv>

namespace brimwatch {
namespace {

bool is_scheme(std::string_view text) {
  if (text.empty() || text.size() > 16) return false;
  for (const char c : text) {
    if (c < 'a' || c > 'z') return false;
  }
  return true;
}

bool read_port(std::string_view text, int& port) {
  const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), port);
  return failure == std::errc() && end == text.data() + text.size() && port >= 1 && port <= 65'535;
}

/// Letters, digits and what else a name or an address has; not what some parsers take for a border (\, %, blanks).
bool is_host(std::string_view text, bool bracket) {
  return std::all_of(text.begin(), text.end(), [bracket](char c) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    return letter || c == '.' || c == '-' || c == '_' || static_cast<unsigned char>(c) >= 0x80 || (bracket && c == ':');
  });
}

/// "host", "host:port", "[::1]:port".
bool read_host(std::string_view text, Address& address) {
  const bool bracket = !text.empty() && text.front() == '[';
  const std::size_t end = bracket ? text.find(']') : text.find(':');
  if (bracket && end == std::string_view::npos) return false;
  address.host = bracket ? text.substr(1, end - 1) : text.substr(0, end);
  const std::string_view rest = end == std::string_view::npos ? std::string_view() : text.substr(end + (bracket ? 1 : 0));
  if (address.host.empty() || !is_host(address.host, bracket)) return false;
  if (rest.empty()) return true;
  return rest.front() == ':' && read_port(rest.substr(1), address.port);
}

}  // namespace

std::optional<Address> parse_address(std::string_view text) {
  const std::size_t colon = text.find("://");
  if (colon == std::string_view::npos) return std::nullopt;
  Address address;
  address.scheme = text.substr(0, colon);
  if (!is_scheme(address.scheme)) return std::nullopt;
  std::string_view authority = text.substr(colon + 3);
  authority = authority.substr(0, authority.find_first_of("/?#"));
  if (const std::size_t at = authority.rfind('@'); at != std::string_view::npos) {
    address.has_user = true;
    authority.remove_prefix(at + 1);
  }
  if (!read_host(authority, address)) return std::nullopt;
  return address;
}

bool is_loopback(const Address& address) { return address.host == "127.0.0.1" || address.host == "::1"; }

std::optional<ListenEnd> parse_listen(std::string_view text) {
  Address parts;
  if (!read_host(text, parts) || parts.port == 0) return std::nullopt;
  unsigned char bytes[sizeof(in6_addr)];
  const bool v6 = text.front() == '[';
  if (inet_pton(v6 ? AF_INET6 : AF_INET, parts.host.c_str(), bytes) != 1) return std::nullopt;
  return ListenEnd{parts.host, parts.port, is_loopback(parts)};
}

std::string address_to_show(std::string_view url) {
  const auto address = parse_address(url);
  if (!address) return "an address that cannot be read";
  const bool brackets = address->host.find(':') != std::string::npos;
  std::string out = address->scheme + "://" + (brackets ? "[" + address->host + "]" : address->host);
  if (address->port != 0) out += ":" + std::to_string(address->port);
  return out;
}

std::string without_query(std::string_view url) {
  const std::size_t at = std::min(url.rfind('@'), url.size());
  const std::size_t begin = at == url.size() ? 0 : at + 1;
  const std::size_t end = std::min(url.find_first_of("?#"), url.size());
  return std::string(begin > 0 ? "...@" : "") + std::string(url.substr(begin, end < begin ? 0 : end - begin)) +
         (end < url.size() ? "?..." : "");
}

}  // namespace brimwatch
