// The keys of [shared], and what must hold between them.
#include <algorithm>
#include <array>
#include <set>

#include "config/address.h"
#include "config/checks/checks.h"
#include "config/reading/text.h"
#include "config/sections/sections.h"
#include "config/sections/shapes.h"

namespace brimwatch {
namespace sections {
namespace {

constexpr std::array<std::string_view, 2> kStandbyFeeds{"own", "at-takeover"};

constexpr Key<SharedSettings> kShared[] = {
    {{"name", text(32), "This machine's own name among them"}, set<SharedSettings, &SharedSettings::name>},
    {{"house", text(32), "Name of the whole installation, the same on all machines"},
     set<SharedSettings, &SharedSettings::house>},
    {{"etcd", texts(), "Addresses of the etcd members that decide who speaks; three, so that one may fail"},
     set<SharedSettings, &SharedSettings::etcd>},
    {{"user", text(64), "Name of the etcd user; without it, etcd asks for none"},
     set<SharedSettings, &SharedSettings::user>},
    {{"password", secret(), "Where that user's password comes from"}, set<SharedSettings, &SharedSettings::password>},
    {{"certificate", path(), "File of the certificate that this machine shows to etcd, PEM"},
     set<SharedSettings, &SharedSettings::certificate>},
    {{"key", path(), "File of that certificate's private key, PEM"}, set<SharedSettings, &SharedSettings::key>},
    {{"ca_file", path(), "File of the certificates that etcd's own is checked against; without it, the system's"},
     set<SharedSettings, &SharedSettings::ca_file>},
    {{"insecure_loopback", boolean(), "Allow http:// to 127.0.0.1 and [::1]"},
     set<SharedSettings, &SharedSettings::insecure_loopback>},
    {{"ttl", seconds(kMillion, 5 * kMillion), "Seconds without a sign of life before another machine takes over"},
     set<SharedSettings, &SharedSettings::ttl>},
    {{"feed", word(kStandbyFeeds),
      "Feed of a machine that stands by: its own all the time, or begun when it takes over (one connection allowed)"},
     set<SharedSettings, &SharedSettings::feed>},
    {{"alone_after", seconds(0, 86'400 * kMillion),
      "Seconds without etcd after which a machine that stands by speaks alone, if no other says that it speaks; 0: "
      "never"},
     set<SharedSettings, &SharedSettings::alone_after>},
    {{"direct", text(64),
      "Where the others ask this machine whether it speaks, while etcd does not answer; with its certificate"},
     set<SharedSettings, &SharedSettings::direct>},
};

}  // namespace
}  // namespace sections

namespace {

constexpr std::size_t kEtcdMost = 7;

bool is_plain_name(std::string_view name) {
  return !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
  });
}

bool check_name(const std::string& name, std::string_view key, const Seen& seen, const Place& table, Reading& reading) {
  reading.key = key;
  if (is_plain_name(name)) return true;
  const std::string found = seen.has(key) ? in_quotes(name) : "none";
  return reading.refuse(seen.at(key, table), found, "letters, digits, - and _, such as \"home\"");
}

/// Of two keys that belong together, one alone.
bool check_pair(std::string_view one, std::string_view other, const Seen& seen, Reading& reading) {
  if (seen.has(one) == seen.has(other)) return true;
  const std::string_view there = seen.has(one) ? one : other, missing = seen.has(one) ? other : one;
  reading.key = there;
  return reading.tell(seen.at(there, {}), "found it without " + std::string(missing) + ", expected both or neither");
}

bool check_addresses(const SharedSettings& shared, const Seen& seen, const Place& table, Reading& reading) {
  reading.key = "etcd";
  const Place place = seen.at("etcd", table);
  if (shared.etcd.empty() || shared.etcd.size() > kEtcdMost)
    return reading.refuse(place, std::to_string(shared.etcd.size()) + " addresses",
                          "1 to 7, such as [\"https://10.0.0.1:2379\", \"https://10.0.0.2:2379\", "
                          "\"https://10.0.0.3:2379\"]");
  bool good = true;
  std::set<std::string> known;
  for (const std::string& one : shared.etcd) {
    good = check_address(one, {kWebSchemes, "http", shared.insecure_loopback}, place, reading) && good;
    if (!known.insert(one).second) good = reading.refuse(place, in_quotes(one) + " twice", "each once");
  }
  return good;
}

/// An address of this machine itself: whoever listens needs one. In the clear on this machine alone.
bool check_direct(const SharedSettings& shared, const Seen& seen, Reading& reading) {
  if (!seen.has("direct")) return true;
  reading.key = "direct";
  const Place place = seen.at("direct", {});
  const bool secured = shared.direct.starts_with("https://"), clear = shared.direct.starts_with("http://");
  const auto end = parse_listen(secured ? shared.direct.substr(8) : clear ? shared.direct.substr(7) : std::string());
  const bool is_here = end && (end->host == "127.0.0.1" || end->host == "::1");
  if (!end || (clear && !(shared.insecure_loopback && is_here)))
    return reading.refuse(place, in_quotes(shared.direct),
                          "https:// with an address of this machine and a port, such as \"https://10.0.0.1:2390\"");
  if (!secured || seen.has("certificate")) return true;
  return reading.tell(place, "found it without certificate and key, expected those that it is served with");
}

}  // namespace

std::span<const Key<SharedSettings>> shared_keys() { return sections::kShared; }

bool check_shared(const SharedSettings& shared, const Seen& seen, const Place& table, Reading& reading) {
  bool good = check_name(shared.name, "name", seen, table, reading);
  good = check_name(shared.house, "house", seen, table, reading) && good;
  good = check_addresses(shared, seen, table, reading) && good;
  good = check_pair("user", "password", seen, reading) && good;
  good = check_direct(shared, seen, reading) && good;
  return check_pair("certificate", "key", seen, reading) && good;
}

std::string doubt_about_majority(const SharedSettings& shared) {
  switch (shared.etcd.size()) {
    case 1:
      return "etcd: found one address: while that machine is away nobody decides who speaks, and what is told may be "
             "told twice; expected three machines with etcd, one of which may be small";
    case 2:
      return "etcd: found two addresses: two have no majority when one is away, and then nobody decides who speaks; "
             "expected a third, on a small machine that carries the vote";
    default:
      if (shared.etcd.size() % 2 != 0) return {};
      return "etcd: found " + std::to_string(shared.etcd.size()) +
             " addresses: an even number tolerates no more failures than one less; expected an odd number";
  }
}

/// In the clear it is a try-out on one machine, whose members lose etcd together.
std::string doubt_about_direct(const SharedSettings& shared) {
  if (!shared.direct.empty() || shared.alone_after.count() == 0 || shared.insecure_loopback) return {};
  return "found no direct: the other machines cannot ask this one whether it speaks, and one that alone loses etcd "
         "speaks too after " +
         std::to_string(shared.alone_after.count()) +
         " s: what is told may then come twice; expected direct = \"https://ADDRESS:PORT\" of this machine";
}

}  // namespace brimwatch
