#include "config/reading/zone_names.h"

#include <algorithm>
#include <filesystem>

#include "config/reading/nearest.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

/// Names of zones begin with a capital and have no dot; the database's tables (zone.tab), its copies (posix/) and links
/// to the machine's own zone (localtime) are told apart by that, and nothing climbs out of the folder.
bool may_be_zone(std::string_view name) {
  return !name.empty() && name.front() >= 'A' && name.front() <= 'Z' && name.find('.') == std::string_view::npos;
}

/// "Berlin" of "Europe/Berlin".
std::string_view city_of(std::string_view name) { return name.substr(name.rfind('/') + 1); }

}  // namespace

bool ZoneNames::known() const {
  std::error_code error;
  return fs::is_directory(folder_, error);
}

bool ZoneNames::has(std::string_view name) const {
  std::error_code error;
  return may_be_zone(name) && fs::is_regular_file(fs::path(folder_) / name, error);
}

std::vector<std::string> ZoneNames::all() const {
  std::vector<std::string> names;
  std::error_code error;
  for (fs::recursive_directory_iterator at(folder_, error), end; !error && at != end; at.increment(error)) {
    std::error_code gone;
    std::string name = at->path().lexically_relative(folder_).string();
    if (!may_be_zone(name)) at.disable_recursion_pending();
    else if (at->is_regular_file(gone)) names.push_back(std::move(name));
  }
  std::sort(names.begin(), names.end());  // of two that are as near, always the same
  return names;
}

std::string ZoneNames::nearest_to(std::string_view name) const {
  const std::vector<std::string> names = all();
  if (const auto near = nearest(name, {names.begin(), names.end()}); !near.empty()) return std::string(near);
  const auto same_city = std::find_if(names.begin(), names.end(), [&](const std::string& one) {
    return edit_distance(city_of(one), name) <= 1;  // the region was left out
  });
  return same_city == names.end() || name.size() < 4 ? std::string() : *same_city;
}

}  // namespace brimwatch
