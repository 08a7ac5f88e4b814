#pragma once
// The devices that the page is open to beyond this machine, and whom push messages go to: in one file beside the journal,
// replaced as a whole at every change. Of a device's cookie only a hash is kept: who reads the file cannot be the device.
//
// Any thread. What writes may block on the disk; what reads never waits for one that writes.
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/push/p256.h"
#include "core/device_right.h"
#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// Where a browser is reached, and what it takes to write to it (W3C Push API).
struct PushSubscription {
  std::string endpoint;    ///< https://...
  std::string public_key;  ///< 65 bytes
  std::string auth;        ///< 16 bytes

  bool operator==(const PushSubscription&) const = default;
};

/// From what a browser says: JSON with endpoint and keys { p256dh, auth }.
[[nodiscard]] Result<PushSubscription> subscription_of(std::string_view json);

struct Device {
  std::string id;    ///< "this-machine" for browsers of this machine, which need no pairing
  std::string name;  ///< as the user called it
  DeviceRight right = DeviceRight::look;
  std::string cookie_hash;     ///< SHA-256, 64 hexadecimal digits; empty: none
  Timestamp paired{}, seen{};  ///< seen: as of the last change of the file, and later in memory
  std::vector<PushSubscription> push;

  bool operator==(const Device&) const = default;
};

struct DeviceBook {
  std::vector<Device> devices;
  std::string push_key;  ///< private key of 32 bytes; empty: none yet

  bool operator==(const DeviceBook&) const = default;
};

constexpr std::size_t kDevicesMost = 32, kSubscriptionsMost = 4;  ///< the latter of a device; the oldest goes

/// The name of the file that belongs to a journal: "journal.db" -> "journal.devices.json".
[[nodiscard]] std::string devices_file(std::string_view journal);

class Devices {
 public:
  /// No file: no devices. An error names it, and says that nothing was changed. `may_write` of false: for a program
  /// beside the daemon, whose changes are not kept.
  static Result<std::shared_ptr<Devices>> open(const std::string& path, bool may_write = true);

  /// Whose cookie it is; nobody's: no right.
  [[nodiscard]] Visitor visitor(std::string_view cookie, Timestamp now);
  [[nodiscard]] std::vector<Device> all() const;

  /// Adds a device; gives its cookie, which is told to it and nobody else. A name that is taken gets a number.
  Result<std::string> add(std::string_view name, DeviceRight right, Timestamp now);
  /// By id or name; gives the name.
  Result<std::string> revoke(std::string_view which);

  /// `device` is its id; "": this machine.
  Status subscribe(std::string_view device, PushSubscription subscription, Timestamp now);
  /// What the browser of that device asked for, or the push service says is gone.
  Status unsubscribe(std::string_view endpoint);

  struct Target {
    std::string device;  ///< its name
    PushSubscription subscription;
  };
  [[nodiscard]] std::vector<Target> targets() const;

  /// The key that push services know us by: made when it is first wanted, and kept, since browsers are bound to it.
  [[nodiscard]] Result<P256> push_key();

 private:
  Devices(std::string path, bool may_write) : path_(std::move(path)), may_write_(may_write) {}
  template <typename Change>
  Status change(const Change& what);

  std::string path_;
  bool may_write_;
  std::mutex writing_;          ///< one change at a time, disk included
  mutable std::mutex reading_;  ///< of book_, held for no longer than a copy
  DeviceBook book_;
};

}  // namespace brimwatch
