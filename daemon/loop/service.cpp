#include "loop/service.h"

#include <pwd.h>
#include <systemd/sd-daemon.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>

#include "core/text/text.h"

namespace brimwatch {
namespace {

void tell(const std::string& state) { sd_notify(0, state.c_str()); }

/// The protocol is one KEY=VALUE a line, so a status must be one line.
std::string one_line(std::string_view text) { return clean_line(text, 1000); }

}  // namespace

bool is_a_service() { return std::getenv("NOTIFY_SOCKET") != nullptr; }

bool ends_at_logout() {
  if (std::getenv("MANAGERPID") == nullptr) return false;  // systemd.exec(5): of services of a user's manager
  const passwd* const user = ::getpwuid(::getuid());
  std::error_code failed;
  return user != nullptr && !std::filesystem::exists(std::string("/var/lib/systemd/linger/") + user->pw_name, failed);
}

void Service::ready(std::string_view status) const { tell("READY=1\nSTATUS=" + one_line(status)); }
void Service::reloading() const { tell("RELOADING=1\nSTATUS=reading the configuration"); }
void Service::stopping(std::string_view status) const { tell("STOPPING=1\nSTATUS=" + one_line(status)); }
void Service::status(std::string_view text) const { tell("STATUS=" + one_line(text)); }
void Service::alive() const { tell("WATCHDOG=1"); }

Nanos Service::watchdog_interval() const {
  std::uint64_t micros = 0;
  return sd_watchdog_enabled(0, &micros) > 0 ? static_cast<Nanos>(micros) * 1000 / 2 : 0;
}

}  // namespace brimwatch
