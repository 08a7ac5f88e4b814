#include "config/address.h"

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

/// "host", "host:port", "[::1]:port".
bool read_host(std::string_view text, Address& address) {
  const bool bracket = !text.empty() && text.front() == '[';
  const std::size_t end = bracket ? text.find(']') : text.find(':');
  if (bracket && end == std::string_view::npos) return false;
  address.host = bracket ? text.substr(1, end - 1) : text.substr(0, end);
  const std::string_view rest = end == std::string_view::npos ? std::string_view() : text.substr(end + (bracket ? 1 : 0));
  if (address.host.empty() || address.host.find(' ') != std::string::npos) return false;
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

}  // namespace brimwatch
