#include "config/paths.h"

#include <pwd.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <filesystem>
#include <string_view>
#include <system_error>
#include <vector>

#include "config/reading/text.h"

namespace brimwatch {
namespace {

constexpr const char* kName = "/brimwatch";

/// An absolute path, or nothing.
std::string absolute_variable(const char* name) {
  const char* value = std::getenv(name);
  return value != nullptr && value[0] == '/' ? value : std::string();
}

/// systemd may give several folders, separated by colons: ours is the first.
std::string service_directory(const char* name) {
  const std::string value = absolute_variable(name);
  return value.substr(0, value.find(':'));
}

std::string xdg(const char* name, const std::string& otherwise) {
  const std::string value = absolute_variable(name);
  return (value.empty() ? otherwise : value) + kName;
}

std::string first_of(std::string a, std::string b) { return a.empty() ? std::move(b) : std::move(a); }

bool exists(const std::string& path) {
  std::error_code ignored;
  return std::filesystem::exists(path, ignored);
}

}  // namespace

std::string heard_beside(const std::string& journal) {
  return (std::filesystem::path(journal).parent_path() / "heard").string();
}

std::string home_directory() {
  if (std::string home = absolute_variable("HOME"); !home.empty()) return home;
  std::vector<char> buffer(16'384);
  passwd entry{};
  passwd* found = nullptr;
  if (::getpwuid_r(::getuid(), &entry, buffer.data(), buffer.size(), &found) != 0 || found == nullptr) return {};
  return found->pw_dir;
}

std::string current_directory() {
  std::error_code failed;
  const auto path = std::filesystem::current_path(failed);
  return failed ? "/" : path.string();
}

Places system_places() {
  Places out;
  out.config = "/etc/brimwatch";
  out.state = "/var/lib/brimwatch";
  out.data = "/usr/share/brimwatch";
  out.runtime = "/run/brimwatch";
  return out;
}

Places places() {
  if (about_which() == Instance::system) return system_places();
  const std::string home = home_directory();
  Places out;
  out.config = first_of(service_directory("CONFIGURATION_DIRECTORY"), xdg("XDG_CONFIG_HOME", home + "/.config"));
  out.state = first_of(service_directory("STATE_DIRECTORY"), xdg("XDG_STATE_HOME", home + "/.local/state"));
  out.data = xdg("XDG_DATA_HOME", home + "/.local/share");
  out.runtime = service_directory("RUNTIME_DIRECTORY");
  if (out.runtime.empty() && !absolute_variable("XDG_RUNTIME_DIR").empty()) out.runtime = xdg("XDG_RUNTIME_DIR", {});
  out.runtime_is_fallback = out.runtime.empty();
  if (out.runtime_is_fallback) out.runtime = out.state;
  return out;
}

std::string config_file(const std::string& given) {
  if (!given.empty()) return absolute_path(given, current_directory(), home_directory());
  const std::string own = places().config_file();
  if (exists(own) || about_which() == Instance::system) return own;
  const char* given_directories = std::getenv("XDG_CONFIG_DIRS");
  const bool unset = given_directories == nullptr || given_directories[0] == '\0';
  std::string_view rest = unset ? "/etc/xdg" : given_directories;
  while (!rest.empty()) {
    const std::size_t colon = rest.find(':');
    const std::string directory(rest.substr(0, colon));
    rest = colon == std::string_view::npos ? std::string_view() : rest.substr(colon + 1);
    if (directory.empty() || directory.front() != '/') continue;
    const std::string file = directory + kName + "/brimwatch.toml";
    if (exists(file)) return file;
  }
  return own;
}

bool make_private_directory(const std::string& path) {
  namespace fs = std::filesystem;
  std::error_code failed;
  if (fs::is_directory(path, failed)) return true;
  const std::string above = fs::path(path).parent_path();
  if (above != path && !above.empty() && !fs::is_directory(above, failed) && !make_private_directory(above)) return false;
  return ::mkdir(path.c_str(), 0700) == 0 || errno == EEXIST;
}

std::string learned_file(const std::string& named) { return named.empty() ? places().learned() : named; }

}  // namespace brimwatch
