#pragma once
// What the service manager is told (sd_notify, by libsystemd). Outside systemd every call does nothing.
#include <string>
#include <string_view>

#include "core/text/timestamp.h"

namespace brimwatch {

class Service {
 public:
  void ready(std::string_view status) const;
  void reloading() const;
  void stopping(std::string_view status) const;
  void status(std::string_view text) const;
  /// To be called only when the engine has made progress: the watchdog must notice a loop that turns and does nothing.
  void alive() const;
  /// How often alive() must be called at the least; 0 when nobody watches.
  [[nodiscard]] Nanos watchdog_interval() const;
};

}  // namespace brimwatch
