#include "adapters/push/devices.h"

#include <openssl/crypto.h>
#include <openssl/sha.h>

#include <algorithm>

#include "adapters/push/base64url.h"
#include "adapters/push/device_file.h"
#include "core/text/text.h"
#include "files/own_files.h"
#include "files/text_file.h"

namespace brimwatch {
namespace {

constexpr const char* kThisMachine = "this-machine";
constexpr std::uint64_t kFileMost = 1U << 20;
constexpr std::size_t kIdBytes = 6, kCookieBytes = 32, kNameMost = 40;

std::string hex_of(std::string_view bytes) {
  std::string out;
  for (const char one : bytes) {
    const auto byte = static_cast<unsigned char>(one);
    out.append(1, "0123456789abcdef"[byte >> 4]).append(1, "0123456789abcdef"[byte & 15]);
  }
  return out;
}

std::string sha256_of(std::string_view bytes) {
  unsigned char hash[SHA256_DIGEST_LENGTH];
  SHA256(reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size(), hash);
  return hex_of({reinterpret_cast<const char*>(hash), sizeof hash});
}

Device* find(DeviceBook& book, std::string_view id) {
  const auto found = std::find_if(book.devices.begin(), book.devices.end(), [&](const Device& d) { return d.id == id; });
  return found == book.devices.end() ? nullptr : &*found;
}

bool is_taken(const DeviceBook& book, std::string_view name) {
  return std::any_of(book.devices.begin(), book.devices.end(),
                     [&](const Device& d) { return d.name == name || d.id == name; });
}

std::string free_name(const DeviceBook& book, std::string_view wanted) {
  std::string name = clean_line(wanted, kNameMost);
  name.erase(0, name.find_first_not_of("- "));  // a command would take it for an option
  if (name.empty()) name = "device";
  std::string out = name;
  for (int n = 2; is_taken(book, out); ++n) out = name + " " + std::to_string(n);
  return out;
}

/// The last so many stay.
void keep_last(std::vector<PushSubscription>& all, std::size_t most) {
  if (all.size() > most) all.erase(all.begin(), all.end() - static_cast<std::ptrdiff_t>(most));
}

void take_out(DeviceBook& book, std::string_view endpoint) {
  for (Device& device : book.devices)
    std::erase_if(device.push, [&](const PushSubscription& one) { return one.endpoint == endpoint; });
}

}  // namespace

std::string devices_file(std::string_view journal) {
  const bool ends = journal.ends_with(".db");
  return std::string(journal.substr(0, journal.size() - (ends ? 3 : 0))) + ".devices.json";
}

Result<std::shared_ptr<Devices>> Devices::open(const std::string& path, bool may_write) {
  std::shared_ptr<Devices> devices(new Devices(path, may_write));
  if (!is_there(path)) return devices;
  const auto text = read_file(path, kFileMost);
  if (!text) return fail(text.error().text + "; no device is known, and nothing was changed");
  auto book = device_book_of(*text);
  if (!book) return fail(path + ": " + book.error().text + "; no device is known, and nothing was changed");
  devices->book_ = std::move(*book);
  return devices;
}

/// `what` changes a copy; it is written, and then it is what holds.
template <typename Change>
Status Devices::change(const Change& what) {
  if (!may_write_) return fail("the list of devices belongs to the daemon, and was not changed");
  const std::lock_guard one_at_a_time(writing_);
  DeviceBook next;
  {
    const std::lock_guard lock(reading_);
    next = book_;
  }
  if (const Status done = what(next); !done) return done;
  if (const Status kept = replace_file(path_, to_text(next)); !kept) return kept;
  const std::lock_guard lock(reading_);
  book_ = std::move(next);
  return {};
}

Visitor Devices::visitor(std::string_view cookie, Timestamp now) {
  const std::size_t dot = cookie.find('.');
  if (dot == std::string_view::npos || cookie.size() > 200) return {};
  const std::string hash = sha256_of(cookie.substr(dot + 1));
  const std::lock_guard lock(reading_);
  Device* const device = find(book_, cookie.substr(0, dot));
  if (device == nullptr || device->cookie_hash.size() != hash.size() ||
      CRYPTO_memcmp(device->cookie_hash.data(), hash.data(), hash.size()) != 0)
    return {};
  device->seen = now;
  return {device->right, device->id, device->name};
}

std::vector<Device> Devices::all() const {
  const std::lock_guard lock(reading_);
  return book_.devices;
}

Result<std::string> Devices::add(std::string_view name, DeviceRight right, Timestamp now) {
  const auto id = random_bytes(kIdBytes), secret = random_bytes(kCookieBytes);
  if (!id || !secret) return fail("the system gives no random numbers");
  Device device{hex_of(*id), {}, right, sha256_of(base64url(*secret)), now, now, {}};
  const Status done = change([&](DeviceBook& book) -> Status {
    if (book.devices.size() >= kDevicesMost)
      return fail("there are " + std::to_string(kDevicesMost) + " devices already; revoke one first");
    device.name = free_name(book, name);
    book.devices.push_back(device);
    return {};
  });
  if (!done) return tl::unexpected(done.error());
  return device.id + "." + base64url(*secret);
}

Result<std::string> Devices::revoke(std::string_view which) {
  std::string name;
  const Status done = change([&](DeviceBook& book) -> Status {
    const auto found = std::find_if(book.devices.begin(), book.devices.end(),
                                    [&](const Device& d) { return d.id == which || d.name == which; });
    if (found == book.devices.end())
      return fail("found no device \"" + clean_line(which, 60) + "\"; `brimwatch page devices` lists them");
    name = found->name;
    book.devices.erase(found);
    return {};
  });
  if (!done) return tl::unexpected(done.error());
  return name;
}

Status Devices::subscribe(std::string_view device, PushSubscription subscription, Timestamp now) {
  return change([&](DeviceBook& book) -> Status {
    const std::string id = device.empty() ? kThisMachine : std::string(device);
    Device* whose = find(book, id);
    if (whose == nullptr && !device.empty()) return fail("this device is not paired any more");
    if (whose == nullptr)
      whose = &book.devices.emplace_back(Device{id, "this machine", DeviceRight::answer, "", now, now, {}});
    take_out(book, subscription.endpoint);
    whose->push.push_back(subscription);
    keep_last(whose->push, kSubscriptionsMost);
    return {};
  });
}

Status Devices::unsubscribe(std::string_view endpoint) {
  return change([&](DeviceBook& book) -> Status {
    take_out(book, endpoint);
    return {};
  });
}

std::vector<Devices::Target> Devices::targets() const {
  std::vector<Target> out;
  for (const Device& device : all())
    for (const PushSubscription& one : device.push) out.push_back({device.name, one});
  return out;
}

Result<P256> Devices::push_key() {
  std::string bytes;
  {
    const std::lock_guard lock(reading_);
    bytes = book_.push_key;
  }
  if (!bytes.empty()) return P256::from_private(bytes);
  const Status done = change([&](DeviceBook& book) -> Status {
    if (!book.push_key.empty()) return bytes = book.push_key, Status{};
    const auto made = P256::generate();
    if (!made) return tl::unexpected(made.error());
    bytes = book.push_key = made->private_bytes();
    return {};
  });
  if (!done) return tl::unexpected(done.error());
  return P256::from_private(bytes);
}

}  // namespace brimwatch
