// The page beyond this machine: nobody is served there by an oversight.
#include <array>
#include <charconv>

#include "config/address.h"
#include "config/checks/checks.h"

namespace brimwatch {
namespace {

bool together(std::string_view key, std::string_view other, const Seen& seen, Reading& reading) {
  const Place* place = seen.find(key);
  if (place == nullptr || seen.has(other)) return true;
  reading.key = key;
  return reading.tell(*place, "found it without " + std::string(other) + ", expected both");
}

bool check_listen(const PageSettings& page, const Place& place, Reading& reading) {
  reading.key = "listen";
  const auto end = parse_listen(page.listen);
  if (!end) {
    return reading.refuse(place, in_quotes(page.listen),
                          "an address and a port, such as \"192.0.2.7:8443\" or \"[::]:8443\"");
  }
  if (!page.certificate.empty() || end->loopback) return true;
  return reading.refuse(
      place, in_quotes(page.listen) + " without certificate and key",
      "both, or an address of this machine itself for a proxy that has them, such as \"127.0.0.1:8723\"");
}

bool check_public_address(const PageSettings& page, const Place& place, Reading& reading) {
  constexpr std::array<std::string_view, 1> kSafe{"https"};
  reading.key = "address";
  if (!check_address(page.address, {kSafe, "", false}, place, reading)) return false;
  std::string origin = address_to_show(page.address);
  if (origin.ends_with(":443")) origin.resize(origin.size() - 4);  // no browser says it
  if (page.address == origin || page.address == origin + "/") return true;
  return reading.refuse(place, in_quotes(page.address), "scheme, host and port alone, such as \"" + origin + "\"");
}

}  // namespace

bool check_page(const PageSettings& page, const Seen& seen, Reading& reading) {
  bool good = together("listen", "address", seen, reading);
  good = together("certificate", "key", seen, reading) && together("key", "certificate", seen, reading) && good;
  for (const std::string_view key : {"address", "certificate"}) good = together(key, "listen", seen, reading) && good;
  if (const Place* place = seen.find("listen")) good = check_listen(page, *place, reading) && good;
  if (const Place* place = seen.find("address")) good = check_public_address(page, *place, reading) && good;
  return good;
}

}  // namespace brimwatch
