#pragma once
// Messages to the service manager (sd_notify, by libsystemd). Outside systemd every call does nothing.
#include <string>
#include <string_view>

#include "core/text/timestamp.h"

namespace brimwatch {

/// A service manager started us and waits to be told: then a person sees what is wrong in its status, not on a terminal.
[[nodiscard]] bool is_a_service();

/// A user's service that their manager ends when they log out (loginctl(1), enable-linger).
[[nodiscard]] bool ends_at_logout();

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
