#include "adapters/process/child_environment.h"

#include <algorithm>
#include <cstdlib>

namespace brimwatch {
namespace {

constexpr const char* kUsual[] = {"PATH", "HOME", "USER", "LOGNAME", "SHELL", "TMPDIR", "TZ",
                                  // language
                                  "LANG", "LANGUAGE", "LC_ALL", "LC_CTYPE", "LC_NUMERIC", "LC_TIME", "LC_COLLATE",
                                  "LC_MONETARY", "LC_MESSAGES",
                                  // folders
                                  "XDG_RUNTIME_DIR", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME",
                                  "XDG_CACHE_HOME", "XDG_CONFIG_DIRS", "XDG_DATA_DIRS",
                                  // display and sound
                                  "DISPLAY", "WAYLAND_DISPLAY", "XAUTHORITY", "DBUS_SESSION_BUS_ADDRESS"};

void add(std::vector<std::string>& to, const std::string& name) {
  if (const char* value = std::getenv(name.c_str()); value != nullptr) to.push_back(name + "=" + value);
}

}  // namespace

std::vector<std::string> child_environment(const std::vector<std::string>& also) {
  std::vector<std::string> all;
  for (const char* name : kUsual) add(all, name);
  for (const std::string& name : also)
    if (std::find(std::begin(kUsual), std::end(kUsual), name) == std::end(kUsual)) add(all, name);
  return all;
}

}  // namespace brimwatch
