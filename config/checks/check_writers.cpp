// Who else may write the main file: where it names a program to start, whoever can write it chooses what runs as us.
#include <sys/stat.h>

#include <algorithm>
#include <filesystem>

#include "config/checks/checks.h"

namespace brimwatch {
namespace {

template <typename Many>
bool starts_one(const Many& all) {
  return std::any_of(all.begin(), all.end(), [](const auto& one) { return !one.command.empty(); });
}

/// In a sticky folder nobody but its owner replaces a file.
bool may_replace_in(mode_t folder, mode_t bit) { return (folder & bit) != 0 && (folder & S_ISVTX) == 0; }

}  // namespace

void check_writers(const Settings& settings, Problems& errors, Problems& warnings) {
  if (!starts_one(settings.feeds) && !starts_one(settings.channels)) return;
  struct stat file {
  }, folder{};
  const std::string above = std::filesystem::path(settings.file).parent_path();
  if (::stat(settings.file.c_str(), &file) != 0 || ::stat(above.c_str(), &folder) != 0) return;
  const auto told = [&](const char* who, bool by_folder) {
    return std::string("it names a command to start, and ") + who + " may " +
           (by_folder ? "replace it, in " : "write to it") + (by_folder ? above : std::string()) +
           ": expected its owner alone; chmod go-w " + (by_folder ? above : settings.file);
  };
  const bool everybody = (file.st_mode & S_IWOTH) != 0, a_group = (file.st_mode & S_IWGRP) != 0;
  if (everybody || may_replace_in(folder.st_mode, S_IWOTH))
    errors.add({0, 0, 0}, told("everybody on this machine", !everybody) + "; nothing was loaded");
  else if (a_group || may_replace_in(folder.st_mode, S_IWGRP)) warnings.add({0, 0, 0}, told("its group", !a_group));
}

}  // namespace brimwatch
